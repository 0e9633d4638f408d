"""Numbers in a lesson's texts: where ``{expression:.0f}`` stands, and how a number is written there and in a mistake."""

from __future__ import annotations

import dataclasses
import math
import re
from collections.abc import Callable, Mapping
from typing import Any

import numpy as np

from graspwave import simulator as sim
from graspwave.lessons.allowed import ExpressionError

__all__ = ["HoleError", "fill", "holes", "read_off", "shown", "told"]

_FORMAT = re.compile(r"~|\+?,?(?:\.[0-6])?[fgd%]?")
_HALF = 0.005
"""How near to a half a number must be to be told with it."""


class HoleError(ExpressionError):
    """A brace without a partner, `at` that offset of the text."""

    def __init__(self, got: str, repair: str, at: int) -> None:
        super().__init__("text whose braces come in pairs", got, repair)
        self.at = at


def holes(text: str) -> list[tuple[int, int, str, str]]:
    """Every ``{expression:format}`` of a text: start, end, expression, format. ``{{`` and ``}}`` are plain braces.

    Raises
    ------
    HoleError
        A brace has no partner.
    """
    found: list[tuple[int, int, str, str]] = []
    at = 0
    while at < len(text):
        if text[at : at + 2] in ("{{", "}}"):
            at += 2
        elif text[at] == "}":
            raise HoleError("a lone }", "Write }} for a plain brace.", at)
        elif text[at] == "{":
            end, colon = _hole(text, at)
            found.append((at, end, text[at + 1 : colon], text[colon + 1 : end - 1]))
            at = end
        else:
            at += 1
    return found


def _hole(text: str, start: int) -> tuple[int, int]:
    """End of the hole that opens at `start`, and where its format begins (its closing brace where it has none)."""
    depth, quote, colon = 0, "", 0
    for at in range(start + 1, len(text)):
        sign = text[at]
        if quote:
            quote = "" if sign == quote else quote
        elif sign in "'\"":
            quote = sign
        elif sign in "([":
            depth += 1
        elif sign in ")]":
            depth -= 1
        elif sign == ":" and depth == 0 and not colon:
            colon = at
        elif sign == "}":
            return at + 1, colon or at
        elif sign == "{":
            break
    raise HoleError("a lone {", "Close it with }, or write {{ for a plain brace.", start)


def fill(text: str, words_of: Callable[[str, str, int], str]) -> str:
    """`text` with every ``{expression:format}`` replaced by `words_of` (expression, format, offset)."""
    parts: list[str] = []
    at = 0
    for start, end, expression, form in holes(text):
        parts += [_plain(text[at:start]), words_of(expression, form, start)]
        at = end
    return "".join([*parts, _plain(text[at:])])


def _plain(text: str) -> str:
    return text.replace("{{", "{").replace("}}", "}")


def told(value: Any, form: str = "") -> str:
    """A number or text as a sentence has it: three figures unless `form`, one of Python's or ``~``, says otherwise.

    Raises
    ------
    ExpressionError
        It is neither, is not finite, or the format is not one for numbers.
    """
    if not _FORMAT.fullmatch(form):
        repair = "Use .0f, .1f, .2f, ,.0f, +.1f or .0%."
        raise ExpressionError("followed by a number's format, such as :.0f", repr(form[:20]), repair)
    if isinstance(value, str) and not form:
        return value
    if isinstance(value, bool) or not isinstance(value, (int, float)):
        rule = "a number" if form else "a number or a text"
        raise ExpressionError(rule, shown(value), "Take one number of it, for example with [0] or max( ).")
    if not math.isfinite(value):
        raise ExpressionError("a finite number", str(value), "Ask for a value that exists.")
    if form == "~":
        return read_off(value)
    if form.endswith("d"):
        value = round(value)
        form = re.sub(r"\.\d", "", form)
    text = format(value, form or (".0f" if abs(value) >= 999.5 or value == round(value) else ".3g"))
    if "e" in text:
        text = format(value, ".6f").rstrip("0").rstrip(".")
    if not re.search(r"[1-9]", text):
        text = text.lstrip("-")
    return text.replace("-", "−")


def read_off(value: float) -> str:
    """A number as pictures write it: whole from 10 on, or a half below 100, else as many digits as it takes.

    >>> read_off(12.5), read_off(123.4), read_off(0.25), read_off(-0.001)
    ('12.5', '123', '0.25', '0')
    """
    size = abs(value)
    half = 10.0 <= size < 100.0 and abs(size % 1.0 - 0.5) < _HALF
    text = f"{value:.{1 if half or 1 <= size < 10 else 0 if size >= 10 else 2}f}"
    text = text.rstrip("0").rstrip(".") if "." in text else text
    return (text if text.strip("-0.") else text.lstrip("-")).replace("-", "−")


def shown(value: Any) -> str:
    """A value in a few characters, for a mistake."""
    if isinstance(value, bool) or value is None:
        return "nothing" if value is None else "yes" if value else "no"
    if isinstance(value, (int, float)):
        return f"{value:.4g}"
    if isinstance(value, str):
        return repr(value if len(value) <= 40 else value[:37] + "...")
    if isinstance(value, np.ndarray):
        return f"{value.size} numbers"
    if isinstance(value, (tuple, list)):
        return f"{len(value)} values" if len(value) > 4 else "[" + ", ".join(shown(item) for item in value) + "]"
    if isinstance(value, Mapping):
        return f"a table of {', '.join(map(str, list(value)[:6]))}"
    if isinstance(value, sim.Scene):
        return "a scene"
    if callable(value):
        return "a function"
    return f"results of {type(value).__name__.lower()}" if dataclasses.is_dataclass(value) else type(value).__name__
