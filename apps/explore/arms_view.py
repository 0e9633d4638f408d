"""The switch for other arms at the curve's upper right, and what is read aloud once they are asked for."""

from __future__ import annotations

from typing import ClassVar

import panel as pn
import param

from graspwave.apps.controls import PlainButton
from graspwave.apps.desk.state import DeskState
from graspwave.apps.told.arms import ARMS, at_words, drawn_words
from graspwave.apps.web.source import component, sheet

__all__ = ["ArmsSaid", "ArmsSwitch", "arms_sentences", "put_arms"]


class ArmsSwitch(PlainButton):
    """A small switch in the row of the name of a plot's upright axis."""

    _stylesheets: ClassVar[list[str]] = [*PlainButton._stylesheets, sheet("explore/arms_switch.css")]


class ArmsSaid(pn.custom.JSComponent):
    """What is read aloud of other arms; it comes with the first that are asked for.

    Parameters
    ----------
    told : str
    """

    told = param.String(default="")

    _esm: ClassVar[str] = component("explore/arms_said.js")
    _stylesheets: ClassVar[list[str]] = [sheet("web/shared.css")]


def arms_sentences(state: DeskState) -> list[dict[str, str]]:
    """What stands below the curve of other arms: what they say at the present current, or how far they are."""
    if not state.arms_asked:
        return []
    if state.arms is None:
        return [{"text": state.arms_told, "means": ""}]
    *told, invented = at_words(state.arms, state.scene)
    return [*({"text": text, "means": ""} for text in told), {"text": invented, "means": drawn_words()}]


def put_arms(state: DeskState, place: pn.Column) -> ArmsSwitch:
    """Lay the switch over a column that holds the plot.

    Parameters
    ----------
    state : DeskState
    place : Column
    """
    switch = ArmsSwitch(label=f"{ARMS} other arms", pressed="false", margin=0)
    said: list[ArmsSaid] = []

    def press() -> None:
        state.arms_asked = not state.arms_asked

    def follow(*_: object) -> None:
        switch.pressed = str(state.arms_asked).lower()
        if state.arms_asked and not said:
            said.append(ArmsSaid(width=0, height=0, margin=0))
            place.append(said[0])
        if said:
            said[0].told = _aloud(state)

    switch.on_click(press)
    state.param.watch(follow, ["arms_asked", "arms", "arms_told"])
    place.append(switch)
    follow()
    return switch


def _aloud(state: DeskState) -> str:
    """Without the count of those that are there, which changes many times a second."""
    text = " ".join(part["text"] for part in arms_sentences(state))
    return text.partition(":")[0] + "." if text.startswith("Working") else text
