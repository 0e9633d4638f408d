"""Slips that keep the slack of one posture wherever the fingers go, so that what slack does can be told apart.

Stage ``hand``. The slips' share is the slope of a path, so holding it alone would bend another path, with another torque at the
MCP, and the hand would no longer rest where it did. The extensor is therefore also given the MCP arm and the length that it
had in that posture, and keeps them: nothing has passed, nothing has moved.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from graspwave.simulator.hand.layout import Constants
from graspwave.simulator.hand.parameters import FINGERS

__all__ = ["slack_left", "with_slack_of"]

Array = NDArray[np.float64]


def slack_left(constants: Constants, q: Array) -> Array:
    """What slack leaves of the share that each finger's slips carry, (4,), at one posture (1, 13); 1 where they are taut."""
    from graspwave.simulator.hand.walk import slip_shares

    taut = constants.ray.copy()
    taut["slack"] = 0.0
    return np.asarray((slip_shares(constants, q) / slip_shares(constants._replace(ray=taut), q))[0])


def with_slack_of(constants: Constants, q: Array) -> Constants:
    """The constants whose slips keep the slack they have at one posture (1, 13), and rest there as the true ones do."""
    from graspwave.simulator.hand.ray import extensor

    ray, muscle, tie = constants.ray.copy(), constants.muscle.copy(), constants.tie.copy()
    ray["share"] *= slack_left(constants, q)
    ray["slack"] = 0.0
    longer = np.empty(len(FINGERS))
    for r in range(len(FINGERS)):
        mcp, pip, dip = (float(angle) for angle in q[0, 1 + 3 * r : 4 + 3 * r])
        true, held = extensor(constants.ray[r], mcp, pip, dip), extensor(ray[r], mcp, pip, dip)
        ray["mcp_arm"][r] -= (held[1] - true[1]) / (1.0 - 2.0 * ray["mcp_fall"][r] * mcp)
        longer[r] = true[0] - extensor(ray[r], mcp, pip, dip)[0]
        for path in (5 * r, 5 * r + 1):
            muscle[path, 2] += longer[r] / muscle[path, 1]
    tie[:, 1] -= longer[:-1] - longer[1:]
    return constants._replace(ray=ray, muscle=muscle, tie=tie)
