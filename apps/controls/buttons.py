"""Controls that choose or act: a segmented choice and a plain button."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from typing import Any, ClassVar

import param

from graspwave.apps.controls.base import Control, script

__all__ = ["Choice", "PlainButton"]


class Choice(Control):
    """One of a few words: radios in a fieldset, drawn as one segmented strip.

    Parameters
    ----------
    label
        Legend of the group.
    options
        Value to word, or a sequence of words that are their own values.
    value
        The chosen value; the first option by default.
    inline
        Put the legend beside the strip.
    show_label
        When false the legend is only spoken.
    explain
        What its words mean, said under it when the legend is tapped.
    trouble
        Why what was chosen was not taken.
    """

    label = param.String(default="Choice")
    options = param.Dict(default={})
    value = param.String(default="")
    inline = param.Boolean(default=False)
    show_label = param.Boolean(default=True)
    disabled = param.Boolean(default=False)
    explain = param.String(default="")
    trouble = param.String(default="")

    _esm: ClassVar[str] = script("choice")

    def __init__(self, options: Mapping[str, str] | Sequence[str] = (), **params: Any) -> None:
        words = dict(options) if isinstance(options, Mapping) else {word: word for word in options}
        if not words:
            raise ValueError("'options' must hold at least one word (got none). Give the words to choose from.")
        value = params.setdefault("value", next(iter(words)))
        if value not in words:
            raise ValueError(f"'value' must be one of {', '.join(words)} (got {value!r}). Choose one of them.")
        super().__init__(options=words, **params)


class PlainButton(Control):
    """A button that counts its clicks.

    Parameters
    ----------
    label
        Words on the button.
    strong
        Filled with ink: the one main action of a view.
    pressed
        ``"true"`` or ``"false"`` makes it a switch for those who hear the page; empty for a plain button.
    clicks
        Number of clicks so far; watch it, or use `on_click`.
    """

    label = param.String(default="Go")
    strong = param.Boolean(default=False)
    pressed: Any = param.Selector(default="", objects=["", "true", "false"])
    disabled = param.Boolean(default=False)
    clicks = param.Integer(default=0)

    _esm: ClassVar[str] = script("button")

    def __init__(self, **params: Any) -> None:
        params.setdefault("sizing_mode", None)
        super().__init__(**params)

    def on_click(self, callback: Callable[[], object]) -> None:
        """Call `callback` without arguments on every click."""
        self.param.watch(lambda _event: callback(), "clicks")
