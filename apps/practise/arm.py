"""The arm from above: how far the elbow goes, what the trunk adds, sleeve, cloth, the other hand, and the second pair of pads."""

from __future__ import annotations

from functools import lru_cache
from typing import Any, ClassVar

import numpy as np
import param

from graspwave import simulator as sim
from graspwave.apps.controls.base import Control
from graspwave.apps.practise.live import Live
from graspwave.apps.web.source import component, sheet
from graspwave.simulator.facts import number
from graspwave.simulator.reach import triceps_channel

__all__ = ["ArmView", "arm_of", "arm_words"]


class ArmView(Control):
    """Upper arm, forearm and bench seen from above; to scale, the arm drawn level.

    Parameters
    ----------
    told : dict
        What `arm_of` gives.
    where : str
        ``desk`` is seen on a desk and a wall, ``task`` on a phone and, at the usual size of text, a wall; ``show`` on a phone:
        where there is room for it.
    """

    told = param.Dict(default={})
    where: Any = param.Selector(default="desk", objects=["desk", "task", "show"])

    _esm: ClassVar[str] = component("practise/arm.js")
    _stylesheets: ClassVar[list[str]] = [*Control._stylesheets, sheet("practise/arm.css")]


@lru_cache(maxsize=32)
def _lengths_mm(scene: sim.Scene) -> tuple[float, float, float]:
    """Upper arm as seen from above, forearm to the palm, and how far from the shoulder the hand begins."""
    upper = number("recruitment.limb.upper_arm_mm")
    fore = number("recruitment.limb.forearm_mm") + number("hand.bones.metacarpal") * scene.hand.hand_length_mm
    height = scene.task.shoulder_above_mm

    def level(elbow_deg: float) -> float:
        square = upper**2 + fore**2 + 2.0 * upper * fore * float(np.cos(np.radians(elbow_deg))) - height**2
        return float(np.sqrt(max(square, 0.0)))

    return level(0.0) - fore, fore, level(number("reach.arm.start_deg"))


def arm_of(live: Live, now_s: float) -> dict[str, Any]:
    """What the view is drawn from, in millimetres from the shoulder.

    Parameters
    ----------
    live : Live
    now_s : float

    Returns
    -------
    dict
        ``upper``, ``fore``, ``start``; ``out`` and ``aside``, where the hand is from `start`; ``lean`` of the trunk; ``reach``
        and ``limit``, to the object and as far as the elbow goes; ``object`` (where it is, and its diameter), ``under``
        (``sleeve``, ``cloth`` or ``lifted``), ``helped``, ``tilt`` (0 to 1, of ``tilt_deg``), ``elbow``, the level of the second
        channel, or -1 without one, and ``words``.
    """
    task, reach = live.scene.task, live.reach(now_s)
    upper, fore, start = _lengths_mm(live.scene)
    out, aside = min(live.at_mm, live.reach_mm), max(live.at_mm - live.reach_mm, 0.0)
    at = live.object_mm
    return {
        "upper": round(upper, 1), "fore": round(fore, 1), "start": round(start, 1),
        "out": round(out, 1), "aside": round(aside, 1),
        "lean": round(max(0.0, out - reach.limit_mm), 1), "reach": live.reach_mm, "carry": live.reach_mm,
        "limit": round(reach.limit_mm, 1), "object": [round(min(at, live.reach_mm), 1), round(max(at - live.reach_mm, 0.0), 1)],
        "diameter": task.diameter_mm, "held": live.step == "carry",
        "under": "lifted" if task.arm == "lifted" else "cloth" if live.on_cloth else "sleeve",
        "helped": task.other_hand == "lifts", "tilts": task.side_to_side, "tilt": round(live.tilt(now_s), 2),
        "tilt_deg": number("practice.live.tilt_deg"),
        "slid": task.move == "slide",
        "elbow": -1.0 if triceps_channel(live.scene) is None else round(live.elbow_level(now_s), 2),
        "words": arm_words(live, now_s),
    }


def arm_words(live: Live, now_s: float) -> str:
    """How the arm gets to the object, and what would help where the elbow alone does not."""
    reach, most = live.reach(now_s), number("reach.lean.most_mm") if live.scene.task.lean else 0.0
    if reach.limit_mm >= live.reach_mm - 0.5:
        help_of = [word for word, on in (("the other hand lifts it", live.scene.task.other_hand == "lifts"),
                                         ("its pads straighten the elbow", live.elbow_level(now_s) > 0.5)) if on]
        return f"The elbow takes the hand to the object, {live.reach_mm:.0f} mm" + (f": {help_of[0]}." if help_of else ".")
    ends = f"The elbow ends at {reach.limit_mm:.0f} of {live.reach_mm:.0f} mm"
    rest = live.reach_mm - reach.limit_mm
    leans = f"the trunk leans {rest:.0f} mm" if rest <= most else "leaning does not make up for the rest"
    if triceps_channel(live.scene) is not None:
        return f"{ends}; {leans}. The elbow's own current is off now."
    return f"{ends}; {leans}. {_would_help(live)}"


def _would_help(live: Live) -> str:
    scene, wanted = live.scene, live.reach_mm
    each = (
        ("a cloth", scene.replace("task.arm", "slides").replace("task.friction", number("practice.help.cloth_friction"))),
        ("the other hand", scene.replace("task.other_hand", "lifts")),
    )
    found = [word for word, changed in each if changed != scene and _limit_mm(changed) >= wanted - 0.5]
    return f"{' or '.join(found).capitalize()} would do it, or a nearer object." if found else "A nearer object would do it."


@lru_cache(maxsize=32)
def _limit_mm(scene: sim.Scene) -> float:
    return sim.reach_of(scene, stimulated=False).limit_mm
