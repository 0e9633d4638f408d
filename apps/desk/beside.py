"""A refusal is said beside the field that asked for it."""

from __future__ import annotations

from typing import Any

from graspwave.apps.desk.state import DeskState

__all__ = ["beside"]


def beside(state: DeskState, control: Any, *paths: str) -> Any:
    """Have a control say why what it asked for was not taken, until something is taken or another field is refused.

    Parameters
    ----------
    state : DeskState
    control : Choice, NumberRow or Slider
        Its `trouble` is set.
    paths : str
        The settings that it writes.
    """
    def tell(*_: object) -> None:
        control.trouble = state.message if state.message and set(paths) & set(state.refused) else ""

    state.param.watch(tell, ["message"])
    state.fields.append((control, paths))
    return control
