"""The opening curve in words: which currents clear the object, what would help if none does, where the hand goes over."""

from __future__ import annotations

from typing import Any, ClassVar

import panel as pn
import param

from graspwave.apps.controls.base import Control
from graspwave.apps.desk.state import DeskState
from graspwave.apps.told.arms import ever_words
from graspwave.apps.told.findings import fits_words
from graspwave.apps.told.marks import turn_words
from graspwave.apps.web.source import component, sheet

__all__ = ["CurveWords", "InWordsView", "fits_sentence"]

_LOOKING = "Looking closer at the curve of this hand."



def fits_sentence(state: DeskState) -> str:
    """Which currents clear the object, as a sentence."""
    task, ranges = state.scene.task, state.fits_ma
    name = f"The {task.object}, {task.diameter_mm:.0f} mm,"
    if ranges:
        return f"{name} {fits_words(ranges)}."
    return f"{name} is too wide for this hand at any current: it opens {float(state.curve.opening_mm.max()):.1f} mm at most."


class CurveWords(Control):
    """The sentences, and the list of what would help with a button to try each.

    Parameters
    ----------
    fits
        Which currents clear the object.
    helps
        One mapping a change that was tried: `words`.
    turns
        Sentences on folds and steep places, and on other arms where they stand beside the curve.
    tried
        The last one asked for: its `index` in `helps`, and a `count` of all askings.
    """

    fits = param.String(default="")
    helps = param.List(default=[])
    turns = param.List(default=[])
    tried = param.Dict(default={})

    _esm: ClassVar[str] = component("explore/in_words.js")
    _stylesheets: ClassVar[list[str]] = [*Control._stylesheets, sheet("explore/in_words.css")]


class InWordsView(pn.viewable.Viewer):
    """The curve of the present scene in words."""

    def __init__(self, state: DeskState, **params: Any) -> None:
        super().__init__(**params)
        self._state = state
        self.words = CurveWords()
        self.words.param.watch(self._try, "tried")
        state.param.watch(self._follow, ["scene", "marks", "arms"])
        self._follow()

    def __panel__(self) -> pn.viewable.Viewable:
        return self.words

    def _follow(self, *_: object) -> None:
        state, marks = self._state, self._state.marks
        arms = [] if state.arms is None else [" ".join(ever_words(state.arms, state.scene))]
        self.words.param.update(
            fits=fits_sentence(state),
            helps=[] if marks is None else [{"words": help_.words} for help_ in marks.helps],
            turns=[*([_LOOKING] if marks is None else turn_words(marks)), *arms],
        )

    def _try(self, event: Any) -> None:
        marks, index = self._state.marks, event.new.get("index", -1)
        if marks is not None and 0 <= index < len(marks.helps):
            self._state.take(marks.helps[index])
