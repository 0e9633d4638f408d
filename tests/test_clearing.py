"""Which currents clear an object, and advice that is tried before it is given."""

from __future__ import annotations

import numpy as np
import pytest

from graspwave import simulator as sim
from graspwave.simulator.clearing import AMPLITUDE, HELPS, clearing_ranges
from graspwave.simulator.scene import SceneError


@pytest.fixture(scope="module")
def tight() -> sim.Scene:
    return sim.presets()["tight"]


def opens_mm(scene: sim.Scene, current_ma: float) -> float:
    return float(sim.opening_curve(scene, [current_ma]).opening_mm[0])


def test_ranges_of_a_curve_worked_by_hand() -> None:
    current = np.array([0.0, 1.0, 2.0, 3.0, 4.0, 5.0])
    gap = np.array([0.0, 4.0, 8.0, 4.0, 6.0, 6.0])
    assert clearing_ranges(current, gap, 5.0) == ((1.25, 2.75), (3.5, 5.0))
    assert clearing_ranges(current, gap, 9.0) == ()
    assert clearing_ranges(current, gap, 0.0) == ((0.0, 5.0),)


def agrees(found: sim.Clearing, scene: sim.Scene, off_ma: float = 0.0) -> bool:
    """Whether the least current is where the opening passes the object."""
    assert found.least_ma is not None
    least = found.least_ma + off_ma
    return opens_mm(scene, least - 0.5) < found.diameter_mm < opens_mm(scene, least + 0.5)


def test_least_current_clears_and_a_little_less_does_not(tight: sim.Scene) -> None:
    found = sim.clears(tight, 25.0)
    assert found.advice == ()
    assert found.ranges_ma[0][0] == found.least_ma
    assert agrees(found, tight)
    assert not agrees(found, tight, 2.0)
    for low, high in found.ranges_ma:
        assert opens_mm(tight, 0.5 * (low + high)) >= 25.0
    assert opens_mm(tight, found.ranges_ma[-1][1] + 1.0) < 25.0  # and too much is too much


def test_room_to_spare_narrows_the_range(tight: sim.Scene) -> None:
    one, two = sim.clears(tight, 20.0), sim.clears(tight, 20.0, clearance_mm=10.0)
    assert two.least_ma > one.least_ma
    assert two.ranges_ma[0][1] < one.ranges_ma[0][1]


def test_the_task_gives_the_object(tight: sim.Scene) -> None:
    assert sim.clears(tight.replace("task.diameter_mm", 33.0)).diameter_mm == 33.0


def test_advice_was_run(tight: sim.Scene) -> None:
    held = tight.replace("hand.wrist_held_deg", -20.0)
    found = sim.clears(held, 70.0)
    assert found.least_ma is None
    assert found.ranges_ma == ()
    assert {a.what for a in found.advice} <= set(HELPS)
    assert {"wrist lower"} <= {a.what for a in found.advice}
    current = np.linspace(0.0, 60.0, 121)
    for advice in found.advice:
        if advice.what == "gentle start":
            continue
        assert sim.opening_curve(advice.scene, current).opening_mm.max() == pytest.approx(advice.widest_mm, abs=1e-6)
        for low, high in advice.ranges_ma:
            assert opens_mm(advice.scene, 0.5 * (low + high)) >= advice.scene.task.diameter_mm - 0.5
    best = next(a for a in found.advice if a.what == "wrist lower")
    assert best.scene.hand.wrist_held_deg == 40.0
    assert best.gain_mm > 10.0
    assert best.words.startswith("Hold the wrist bent down at 40 degrees: the hand then opens")


def test_what_clears_is_told_first(tight: sim.Scene) -> None:
    advice = sim.clears(tight.replace("hand.wrist_held_deg", -20.0), 60.0).advice
    clear = [bool(a.ranges_ma) for a in advice]
    assert clear == sorted(clear, reverse=True)


def test_a_gentle_start_is_judged_in_motion(tight: sim.Scene) -> None:
    sudden = tight.replace("channel.0.ramp.up_s", 0.0).replace("hand.reflex_gain", 1.0)
    told = [a for a in sim.clears(sudden, 110.0).advice if a.what == "gentle start"]
    for advice in told:
        assert advice.scene.channel[0].ramp.up_s == 3.0
        run = sim.simulate(advice.scene, advice.scene.channel[0].on_total_s, sample_s=0.02)
        assert run.opening_mm.max() == pytest.approx(advice.widest_mm, abs=0.5)


def test_a_smaller_object_is_one_that_the_hand_clears(tight: sim.Scene) -> None:
    advice = next(a for a in sim.clears(tight, 110.0).advice if a.what == "smaller object")
    assert sim.clears(advice.scene).least_ma is not None
    assert sim.clears(advice.scene, advice.scene.task.diameter_mm + 1.0, advise=False).least_ma is None


def test_no_advice_unless_asked(tight: sim.Scene) -> None:
    assert sim.clears(tight, 110.0, advise=False).advice == ()
    assert AMPLITUDE == "channel.0.pulse.amplitude_ma"


def test_what_cannot_be_is_refused(tight: sim.Scene) -> None:
    with pytest.raises(SceneError, match=r"^'diameter_mm' must be more than 0 \(got 0\)$"):
        sim.clears(tight, 0.0)
    with pytest.raises(SceneError, match=r"^'clearance_mm' must be 0 or more \(got -1\)$"):
        sim.clears(tight, 30.0, clearance_mm=-1.0)
