"""What a page will ask for as it is built, worked out in a thread before: building holds the loop, computing need not."""

from __future__ import annotations

import contextlib

from graspwave import simulator as sim
from graspwave.apps.desk.state import DeskState
from graspwave.apps.told.five_pictures import picture_data
from graspwave.apps.told.scenes import scene_from_address

__all__ = ["work_ahead"]


def work_ahead(path: str, address: str) -> None:
    """Fill what is remembered of the scene in an address; what cannot be worked out is told by the page itself."""
    with contextlib.suppress(Exception):
        state = DeskState(scene_from_address(address) if address else None)
        scene: sim.Scene = state.scene
        if path.endswith("/explain"):
            picture_data(scene, "en")
        elif path.endswith("/explore"):
            state.point, state.finding, state.notices  # noqa: B018
