"""How large the page's plots and their letters are, told by the page: words on a plot are laid by it."""

from __future__ import annotations

from typing import Any, ClassVar

import panel as pn
import param

from graspwave.apps.desk.pause import AfterPause
from graspwave.apps.desk.state import DeskState
from graspwave.apps.web.source import component

__all__ = ["LETTER_PX", "Letters"]

LETTER_PX = 15.0
"""Letters of 1 rem before the page has told."""

_PAUSE_MS = 30


class Letters(pn.custom.JSComponent):
    """Tells the height of a letter of 1 rem on the plots and the size of every plot that has a name, whenever they change.

    Parameters
    ----------
    rem_px : float
    plots : dict
        Width and height of the drawn part by the plot's name [px].
    """

    rem_px = param.Number(default=LETTER_PX, bounds=(6.0, 120.0))
    plots = param.Dict(default={})

    _esm: ClassVar[str] = component("explore/letters.js")

    def tell(self, state: DeskState) -> None:
        """Have a state know what the page tells."""
        def take() -> None:
            sizes: Any = {
                str(name): (float(size[0]), float(size[1])) for name, size in self.plots.items() if min(size) > 0
            }
            state.param.update(letter_px=float(self.rem_px), plot_px=sizes)

        self.param.watch(AfterPause(take, _PAUSE_MS), ["rem_px", "plots"])
