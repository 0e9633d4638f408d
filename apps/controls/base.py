"""What the controls share: one style sheet, the colours of quantities, and checks of their settings."""

from __future__ import annotations

from typing import Any, ClassVar

import panel as pn
from panel.reactive import Syncable

from graspwave.apps.web.source import component, sheet
from graspwave.apps.web.tokens import QUANTITIES

__all__ = ["Control", "check_quantity", "script"]


# An event of a component works off the changes that wait, also those of plots: that takes the document's lock.
Syncable._event_coroutine.lock = True  # type: ignore[attr-defined]


def script(name: str) -> str:
    """Return what loads the script of one control."""
    return component(f"controls/{name}.js")


def check_quantity(quantity: str) -> str:
    """Return `quantity` if it owns a colour, or ``"ink"``; raise ValueError otherwise."""
    if quantity not in (*QUANTITIES, "ink"):
        known = ", ".join((*QUANTITIES, "ink"))
        raise ValueError(f"'quantity' must be one of {known} (got {quantity!r}). Colour is only for quantities.")
    return quantity


class Control(pn.custom.JSComponent):
    """Base of the controls: fills the width it is given, and takes its look from the page's tokens."""

    _stylesheets: ClassVar[list[str]] = [sheet("web/shared.css"), sheet("web/range.css"), sheet("controls/controls.css")]

    # Shorter than Panel's 50 ms: the page already sends one value a frame, and what piles up is merged.
    _debounce: ClassVar[int] = 15

    __abstract = True

    def __init__(self, **params: Any) -> None:
        params.setdefault("sizing_mode", "stretch_width")
        params.setdefault("margin", 0)
        super().__init__(**params)
