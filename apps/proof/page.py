"""The page "What it was checked against", served and as a file of its own."""

from __future__ import annotations

import math
from collections.abc import Sequence
from functools import cache
from itertools import groupby
from typing import Any

from jinja2 import Environment, PackageLoader, StrictUndefined

from graspwave.apps.look.plain import plain_page, sheets
from graspwave.apps.proof.numbers import KINDS, Effect, Row, cited, claims, effects, fact_words, kind_of, limits, rows, widest_mm
from graspwave.apps.told.mark_words import MARK_WORDS
from graspwave.apps.told.numbers import signed
from graspwave.apps.web.source import address

__all__ = ["proof_page"]

TITLE = "What it was checked against"
_WIDE = 260.0
_LEAST_MM = 1.0
"""Effects below this are counted, not listed."""

_BARE = {
    "made up": "Made up for this model: no source.", "common practice": "Common practice: no source.",
    "recalled": "Recalled: no source is named.", "worked out": "Worked out or fitted here.", "published": "",
}
_UNITS = {"1": "", "deg": "°", "uC": "µC", "cm2": "cm²", "grade": "", "share": "%"}


@cache
def proof_page(alone: bool = False) -> str:
    """The page as HTML in the frame of the others.

    Parameters
    ----------
    alone : bool
        Without links to the other pages, for a file that is carried away.
    """
    found, numbers, matter = [_shown(row) for row in rows()], claims(), effects()
    told = [one for one in matter if one.most_mm >= _LEAST_MM]
    kinds = [*(one.kind for one in numbers), *(row["kind"] for row in found)]
    body = _template().render(
        title=TITLE, rows=found, claims=numbers, parts=_parts(found), kinds=[(kind, kinds.count(kind)) for kind in KINDS],
        key=[_drawing(at, 2.0, 4.0, 3.5, at < 4.0) for at in (3.0, 5.0)], hands=widest_mm(), least=f"{_LEAST_MM:g}",
        effects=[_effect(one, matter[0].most_mm) for one in told], small=len(matter) - len(told), bare=_BARE,
        limits=[line.replace("**", "").replace("`", "") for line in limits()],
        sources=sorted({row["source"].citation for row in found if row["source"]} | {one.citation for one in numbers} - {""}),
    )
    return plain_page("proof", TITLE, body, scripts=[address("web/checked.js")],
                      css=sheets("web/checked.css"), bare=alone)


@cache
def _template() -> Any:
    pages = Environment(loader=PackageLoader("graspwave.apps.proof", "."), autoescape=True, undefined=StrictUndefined)
    pages.filters["sentence"] = lambda text: f"{text[:1].upper()}{text[1:].rstrip('.')}."
    return pages.get_template("page.html")


def _shown(row: Row) -> dict[str, Any]:
    """A row in words and places."""
    unit = _UNITS.get(row.unit, row.unit)
    unit = unit if unit in ("", "°") else f" {unit}"
    shown = {"part": row.part, "what": row.what, "kind": kind_of(row.mark), "mark": MARK_WORDS[row.mark], "met": row.met,
             "note": row.note, "source": cited(row.source), "key": row.source}
    if isinstance(row.ours, str):
        return {**shown, "drawn": None, "ours": row.ours, "asked": f"{row.published} in print"}
    printed = row.published if isinstance(row.published, float) else None
    drawn = _drawing(row.ours, row.low, row.high, printed, row.met)
    times = 100.0 if row.unit == "share" else 1.0
    ours, low, high, printed = (None if value is None else times * value for value in (row.ours, row.low, row.high, printed))
    # a narrow band needs one digit more to be told from what is asked for
    digits = 4 if low is not None and high is not None and high - low < 0.02 * abs(high) else 3
    asked = [f"asked for {_band(low, high, digits)}{unit}", "" if printed is None else f"{_said(printed, digits)} in print"]
    return {**shown, "drawn": drawn, "ours": f"{_said(ours, digits)}{unit}", "asked": "; ".join(filter(None, asked))}


def _parts(found: Sequence[dict[str, Any]]) -> list[tuple[str, list[tuple[Any, list[dict[str, Any]]]]]]:
    """Rows that are met, by part and source."""
    parts = []
    for part in dict.fromkeys(row["part"] for row in found):
        own = sorted((row for row in found if row["part"] == part and row["met"]), key=lambda row: row["key"])
        parts.append((part, [(cited(key), list(of)) for key, of in groupby(own, key=lambda row: row["key"])]))
    return parts


def _band(low: float | None, high: float | None, digits: int) -> str:
    if low is None or high is None:
        return f"more than {_said(low, digits)}" if high is None else f"less than {_said(high, digits)}"
    return f"{_said(low, digits)} to {_said(high, digits)}"


def _said(value: float | None, digits: int = 3) -> str:
    """A number of so many digits, without powers of ten."""
    if value is None:
        return ""
    size = abs(value)
    places = max(0, digits - 1 - (math.floor(math.log10(size)) if size else 0))
    text = f"{value:.{places}f}"
    return (text.rstrip("0").rstrip(".") if "." in text else text).replace("-", "−")


def _drawing(ours: float, low: float | None, high: float | None, printed: float | None, met: bool) -> dict[str, Any]:
    """Places of band, tick and dot on a scale that holds them all."""
    shown = [value for value in (ours, low, high, printed) if value is not None]
    span = (max(shown) - min(shown)) or abs(ours) or 1.0
    start, end = min(shown) - 0.15 * span, max(shown) + 0.15 * span

    def at(value: float) -> float:
        return round(6.0 + (_WIDE - 12.0) * (value - start) / (end - start), 1)

    left, right = 0.0 if low is None else at(low), _WIDE if high is None else at(high)
    return {"wide": f"{_WIDE:g}", "left": left, "across": round(max(right - left, 2.0), 1), "dot": at(ours), "met": met,
            "tick": None if printed is None else at(printed)}


def _effect(one: Effect, top: float) -> dict[str, Any]:
    """Signed bars from a middle line, the value at the low end above the one at the high end, and both in words."""
    def bar(mm: float, y: int) -> tuple[str, float, float, int]:
        length = abs(mm) * 55.0 / top
        return "gain" if mm >= 0.0 else "loss", round(60.0 - (length if mm < 0.0 else 0.0), 1), round(max(length, 0.5), 1), y

    changes = [([bar(low, 3), bar(high, 13)], f"{signed(low, 1)} / {signed(high, 1)} mm") for low, high in one.mm.values()]
    return {"what": fact_words(one.name), "kind": kind_of(one.mark), "mark": MARK_WORDS[one.mark], "value": one.value,
            "low": one.low, "high": one.high, "changes": changes}
