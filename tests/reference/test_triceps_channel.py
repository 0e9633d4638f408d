"""The elbow channel: first movement at 14 to 18 mA with large pads over the motor points (common practice, no source;
transcutaneous triceps stimulation works: Keller 2005, 8 people, abstract), and a default that stays inside what most people bear.
"""

from __future__ import annotations

import numpy as np
from record import Rows

from graspwave import simulator as sim
from graspwave.simulator.practice import elbow_channel

PART = "Currents and feeling"


def arm() -> sim.Scene:
    scene = sim.presets()["tight"]
    return scene.replace("channel", (scene.channel[0], elbow_channel(scene.channel[0])))


def first_movement_ma(scene: sim.Scene) -> float:
    current = np.linspace(0.0, 60.0, 1201)
    return float(np.interp(0.1, sim.recruitment_curve(scene, current, 1)["TRI"], current))


def moves_as_in_practice(first_ma: float) -> bool:
    return 14.0 <= first_ma <= 18.0


def test_first_movement(row: Rows) -> None:
    row("first movement of the elbow, pads over the motor points", first_movement_ma(arm()), 14.0, 18.0, unit="mA",
        mark="practice")


def test_pads_with_the_motor_points_in_their_gap_fail() -> None:
    assert not moves_as_in_practice(first_movement_ma(arm().replace("channel.1.pads.along_percent", 50.0)))


def test_the_default_wakes_half_and_is_bearable() -> None:
    scene = arm()
    current = scene.channel[1].pulse.amplitude_ma
    assert 22.0 <= current <= 25.0
    assert 0.35 <= sim.recruitment_curve(scene, [current], 1)["TRI"][0] <= 0.65
    limit = sim.sensation_levels(scene, 1).discomfort_ma
    assert limit is not None
    assert current <= limit[1]
    assert not [notice for notice in sim.dose_of(scene, 1).notices if notice.kind == "over"]
