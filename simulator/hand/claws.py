"""When a finger's posture is called a claw: by the published rule, and as one says it at the bedside.

Stage ``hand``, before ``posture``. The rule is yes or no; a finger that has just met it, its middle joint bent a little, is at
most beginning to claw, and the hand may be wide open.
"""

from __future__ import annotations

from collections.abc import Mapping

import numpy as np
from numpy.typing import NDArray

from graspwave.simulator.hand.parameters import FINGERS, HandModel, scene_hand

__all__ = ["CLAW_GRADES", "claw_grades", "claws_of", "is_claw"]

Array = NDArray[np.float64]

CLAW_GRADES = ("no claw", "begins to claw", "claw")
"""What the numbers of `claw_grades` mean."""


def is_claw(model: HandModel, mcp_deg: Array, pip_deg: Array) -> NDArray[np.bool_]:
    """Claw as published: MCP past straight while the PIP is bent more than 20 degrees."""
    claw = (mcp_deg < model.claw.mcp_below_deg) & (pip_deg > model.claw.pip_above_deg)
    return np.asarray(claw, dtype=np.bool_)


def claws_of(model: HandModel, angle_deg: Mapping[str, Array]) -> dict[str, NDArray[np.bool_]]:
    """Which fingers claw as published, by finger; only those whose angles are given."""
    return {
        finger: is_claw(model, _joint(angle_deg, finger, "MCP"), _joint(angle_deg, finger, "PIP"))
        for finger in FINGERS if _named(finger, "MCP") in angle_deg
    }


def _named(finger: str, joint: str) -> str:
    return joint if finger == "middle" else f"{finger}.{joint}"


def _joint(angle_deg: Mapping[str, Array], finger: str, joint: str) -> Array:
    return np.asarray(angle_deg[_named(finger, joint)])


def claw_grades(angle_deg: Mapping[str, Array], *, model: HandModel | None = None) -> dict[str, NDArray[np.int_]]:
    """How far each finger has come to be a claw.

    Parameters
    ----------
    angle_deg : mapping of str to ndarray, shape (n,)
        MCP and PIP of the middle finger, ``index.MCP`` and so on of the others [deg], as postures, curves and runs have them.
    model : HandModel, optional
        By default that of scenes.

    Returns
    -------
    dict of str to ndarray of int, shape (n,)
        By finger: 0 no claw, 1 begins to claw, 2 claw; see `CLAW_GRADES`.

    Notes
    -----
    From 1 on the published rule is met (MCP past straight, PIP bent over 20 degrees); at 2 the PIP is bent over 60 as well, so
    that the finger is shut in its middle. Common practice, no source: nobody calls a hand that is open a claw. Our table of
    the published angles is read to 3 degrees, so that a finger which is just straight may meet the rule by itself.

    Examples
    --------
    >>> import numpy as np
    >>> angles = {"MCP": np.array([5.0, -1.0, -5.0]), "PIP": np.array([70.0, 30.0, 75.0])}
    >>> claw_grades(angles)["middle"].tolist()
    [0, 1, 2]
    """
    model = model or scene_hand()
    plain = model.claw.plain_pip_above_deg
    return {
        finger: claw.astype(np.int_) + (claw & (_joint(angle_deg, finger, "PIP") > plain))
        for finger, claw in claws_of(model, angle_deg).items()
    }
