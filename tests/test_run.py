"""The chain wired together: what a preset does, and that nothing in it is typed in."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import numpy as np
import pytest

from graspwave import simulator as sim
from graspwave.simulator.hand import walk
from graspwave.simulator.scene import SceneError

CURRENT = np.linspace(0.0, 60.0, 121)


def rise_and_fall_mm(opening: np.ndarray) -> tuple[float, float]:
    """How far a curve rises from rest to its widest, and how far it falls after."""
    top = int(np.argmax(opening))
    return float(opening[top] - opening[0]), float(opening[top] - opening[top:].min())


@pytest.fixture(scope="module")
def tight() -> sim.Scene:
    return sim.presets()["tight"]


def test_tight_hand_opens_then_closes_again(tight: sim.Scene) -> None:
    # common practice, no source; no published curve of opening against current in people is known
    rise, fall = rise_and_fall_mm(sim.opening_curve(tight, CURRENT).opening_mm)
    assert rise >= 10.0
    assert fall >= 10.0


def test_a_curve_that_only_rises_would_be_found() -> None:
    assert rise_and_fall_mm(np.linspace(10.0, 80.0, 50))[1] < 10.0


def test_supple_hand_opens_to_seventy_millimetres() -> None:
    # grips of 50-100 mm and glasses of 65-80 mm are handled (published and memory hi): a supple hand is to reach that
    assert sim.opening_curve(sim.presets()["supple"], CURRENT).opening_mm.max() >= 70.0


def widest_held(scene: sim.Scene, wrist_deg: float) -> float:
    held = scene.replace("hand.wrist_held_deg", wrist_deg)
    return float(sim.opening_curve(held, np.linspace(0.0, 40.0, 81)).opening_mm.max())


def test_stimulated_opening_falls_as_the_wrist_goes_back(tight: sim.Scene) -> None:
    # Published: spastic hands open widest with the wrist fully flexed, less as it extends, not at all at 40 degrees of
    # extension ("The effect of wrist angle on electrically evoked hand opening in patients with spastic hemiplegia").
    widest = [widest_held(tight, deg) for deg in (60, 40, 20, 0, -20, -40)]
    assert all(np.diff(widest) <= 0.5)  # half a millimetre: what two neighbouring angles may differ in the fingers' stops
    assert widest[-1] < 0.35 * widest[0]


def test_a_supple_hand_would_fail_that(tight: sim.Scene) -> None:
    supple = tight.replace("hand.flexor_length_factor", 1.0)
    assert not widest_held(supple, -40) < 0.35 * widest_held(supple, 60)


def test_over_extends_and_claws_as_current_rises(tight: sim.Scene) -> None:
    free = sim.opening_curve(tight, CURRENT)
    assert free.angle_deg["wrist"][0] > 20.0
    assert free.angle_deg["wrist"].min() < -30.0
    held = sim.opening_curve(tight.replace("hand.wrist_held_deg", 15.0), CURRENT)
    assert not held.claw[0]
    assert held.claw.any()


def test_wrist_and_finger_openers_take_their_own_share(tight: sim.Scene) -> None:
    curve = sim.opening_curve(tight, CURRENT)
    both = (curve.recruited["EDC"] > 0.05) & (curve.recruited["ECRB"] > 0.001)
    ratio = curve.recruited["ECRB"][both] / curve.recruited["EDC"][both]
    assert ratio.max() / ratio.min() > 5.0


def test_switches_do_what_they_say(tight: sim.Scene) -> None:
    at = [30.0]
    held = tight.replace("hand.wrist_held_deg", 15.0)
    assert sim.opening_curve(held, at).claw[0]
    assert not sim.opening_curve(held.without("length"), at).claw[0]
    assert sim.opening_curve(tight.without("tone"), [0.0]).opening_mm[0] > sim.opening_curve(tight, [0.0]).opening_mm[0]
    effort = tight.replace("hand.own_grip", 0.1)
    low = [12.0]
    assert sim.opening_curve(effort, low).opening_mm[0] < sim.opening_curve(effort.without("own_effort"), low).opening_mm[0]


def test_own_grip_narrows_and_own_opening_widens(tight: sim.Scene) -> None:
    at = [13.0]
    rest = sim.opening_curve(tight, at).opening_mm[0]
    assert rest > 5.0
    assert sim.opening_curve(tight.replace("hand.own_grip", 0.05), at).opening_mm[0] < rest - 1.0
    assert sim.opening_curve(tight.replace("hand.own_opening", 0.05), at).opening_mm[0] > rest + 1.0


def test_own_grip_dies_away_once_given_up(tight: sim.Scene) -> None:
    # the wrist held: a free one sinks back over many seconds
    scene = tight.replace("channel.0.timing.on_s", 20.0).replace("hand.wrist_held_deg", 40.0)
    grips = scene.replace("hand.own_grip", 0.1).replace("hand.switch_off_s", 5.0)
    lets_go = grips.replace("hand.own_grip_until_s", 2.0)
    free, shut, run = (sim.simulate(s.without("tiring"), duration_s=16.0) for s in (scene, grips, lets_go))
    before, after = run.time_s < 6.0, run.time_s > 9.5  # the fall takes a fifth of the delay, round 7 s
    assert np.abs(run.opening_mm - shut.opening_mm)[before].max() < 0.5
    assert np.abs(run.opening_mm - free.opening_mm)[after].max() < 1.0
    assert free.opening_mm[-1] > shut.opening_mm[-1] + 20.0
    quick = sim.simulate(lets_go.replace("hand.switch_off_s", 0.4), duration_s=6.0)
    assert quick.opening_mm[-1] > run.opening_mm[before][-1] + 20.0
    none = lets_go.without("own_effort", "tiring")
    assert np.allclose(sim.simulate(none, duration_s=16.0).opening_mm, free.opening_mm)


def test_a_wrist_on_the_table_takes_the_early_opening_away(tight: sim.Scene) -> None:
    lies = tight.replace("hand.wrist_rests", True)
    curve = sim.opening_curve(lies, CURRENT)
    assert np.max(curve.angle_deg["wrist"]) < 7.0
    hangs = sim.opening_curve(tight, CURRENT)
    half = int(np.argmax(hangs.opening_mm > 0.5 * hangs.opening_mm.max()))
    assert curve.opening_mm[half] < 0.1 * hangs.opening_mm[half]
    late = int(np.argmax(curve.opening_mm > 0.5 * curve.opening_mm.max()))
    assert CURRENT[late] > CURRENT[half] + 4.0
    assert curve.opening_mm.max() < hangs.opening_mm.max()
    assert sim.simulate(lies, duration_s=6.0).angle_deg["wrist"].max() < 7.0


def test_a_cycle_settles_on_the_curve(tight: sim.Scene) -> None:
    # steady part of an untired on time, against the equilibrium of the curve
    scene = tight.without("tiring").replace("channel.0.timing.on_s", 12.0)
    run = sim.simulate(scene, duration_s=11.0)
    at = sim.opening_curve(scene, [scene.channel[0].pulse.amplitude_ma])
    assert run.opening_mm[-1] == pytest.approx(at.opening_mm[0], abs=1.0)  # 1 mm: the ripple of the pulses
    assert run.force_n["EDC"][-1] == pytest.approx(at.force_n["EDC"][0], rel=0.02)


def test_tiring_takes_force_and_can_be_left_out(tight: sim.Scene) -> None:
    run = sim.simulate(tight, duration_s=120.0)
    fresh = sim.simulate(tight.without("tiring"), duration_s=120.0)
    late = run.time_s > 96.0
    assert run.force_n["EDC"][late].max() < 0.95 * fresh.force_n["EDC"][late].max()
    assert 0.0 < run.tired["EDC"][-1] < 1.0
    assert not fresh.tired["EDC"].any()


def test_held_control_runs_while_pressed(tight: sim.Scene) -> None:
    scene = tight.replace("channel.0.timing.control", "held")
    run = sim.simulate(scene, duration_s=12.0, held=[(2.0, 6.0)])
    on = run.current[0] > 0.0
    assert not on[run.time_s < 2.0].any()
    assert on[(run.time_s > 2.1) & (run.time_s < 6.0)].all()
    assert not on[run.time_s > 6.0 + scene.channel[0].ramp.down_s + 0.05].any()
    assert run.opening_mm[run.time_s < 6.0].max() > run.opening_mm[0] + 10.0


def test_a_run_of_two_channels_keeps_muscles_apart(tight: sim.Scene) -> None:
    pair = sim.Scene(
        hand=tight.hand,
        channel=(tight.channel[0], sim.Channel(pads=sim.Pads(limb="upper arm", along_percent=50.0))),
    )
    run = sim.simulate(pair, duration_s=6.0)
    assert run.force_n["TRI"].max() > 1.0
    assert len(run.dose) == 2
    alone = sim.simulate(tight, duration_s=6.0)
    assert np.allclose(run.force_n["EDC"], alone.force_n["EDC"])


@pytest.mark.parametrize(
    ("duration", "message"),
    [(0.0, "'duration_s' must be more than 0 and at most 10800 (got 0)"),
     (float("nan"), "'duration_s' must be more than 0 and at most 10800 (got nan)"),
     (1e6, "'duration_s' must be more than 0 and at most 10800 (got 1e+06)")],
)
def test_bad_durations(tight: sim.Scene, duration: float, message: str) -> None:
    with pytest.raises(SceneError) as caught:
        sim.simulate(tight, duration_s=duration)
    assert str(caught.value) == message


def test_bad_amplitudes(tight: sim.Scene) -> None:
    with pytest.raises(SceneError, match=r"^'amplitude_ma' must be finite and 0 or more \(got -1\)$"):
        sim.opening_curve(tight, -1)


def test_a_strong_arm_pulls_no_more_than_all_of_itself(tight: sim.Scene) -> None:
    strong = tight.replace("hand.strength", 1.2).replace("hand.own_opening", 1.0)
    assert np.isfinite(sim.opening_curve(strong, CURRENT).opening_mm).all()


def test_tired_opening_is_the_curve_at_full_pull_and_the_resting_hand_at_none() -> None:
    scene = sim.presets()["supple"].replace("channel.0.pulse.amplitude_ma", 12.0)
    found = sim.tired_opening_mm(scene, [1.0, 0.6, 0.0])
    curve = sim.opening_curve(scene, [12.0, 0.0]).opening_mm
    np.testing.assert_allclose(found[[0, 2]], curve, atol=0.2)
    assert found[2] < found[1] < found[0]
    with pytest.raises(sim.SceneError, match=r"^'kept' must be 0 to 1"):
        sim.tired_opening_mm(scene, [1.1])


def test_the_current_shown_ends_one_interval_after_the_last_pulse(tight: sim.Scene) -> None:
    scene = tight
    for path, value in (("ramp.up_s", 0.0), ("ramp.down_s", 0.0), ("train.frequency_hz", 10.0), ("timing.on_s", 1.0),
                        ("timing.off_s", 5.0), ("timing.delay_s", 0.0)):
        scene = scene.replace(f"channel.0.{path}", value)
    run = sim.simulate(scene, duration_s=2.0, sample_s=0.01)
    last = run.trains[0].onset_s[-1]
    shown = run.current[0] > 0.0
    assert shown[(run.time_s > 0.0) & (run.time_s < last + 0.09)].all()
    assert not shown[run.time_s > last + 0.11].any()
    assert not any(share[run.time_s > last + 0.11].any() for share in run.recruited.values())


def test_two_channels_on_the_same_spot_wake_no_axon_twice(tight: sim.Scene) -> None:
    strong = tight.replace("channel.0.pulse.amplitude_ma", 40.0)
    for path in ("ramp.up_s", "ramp.down_s"):
        strong = strong.replace(f"channel.0.{path}", 0.0)
    twice = strong.replace("channel", (strong.channel[0], strong.channel[0]))
    one, two = (sim.simulate(scene, duration_s=1.0) for scene in (strong, twice))
    for name, share in one.recruited.items():
        assert two.recruited[name].max() <= 1.0 + 1e-12
        # what the first leaves of each muscle is all that the second can add
        assert two.recruited[name].max() == pytest.approx(share.max() + share.max() * (1.0 - share.max()), abs=1e-9)
    assert any(share.max() > 0.6 for share in one.recruited.values())  # so that counted twice it would pass 1


# ---- several hands at once


class Calls:
    """Counts the walks of the compiled loops, of one hand and of several."""

    def __init__(self, monkeypatch: pytest.MonkeyPatch) -> None:
        self.count = 0
        for name in ("settle", "settle_each"):
            monkeypatch.setattr(walk, name, self._counted(getattr(walk, name)))

    def _counted(self, loop: Callable[..., Any]) -> Callable[..., Any]:
        def counted(*given: Any) -> Any:
            self.count += 1
            return loop(*given)

        return counted


def furthest_deg(one: sim.Opening, two: sim.Opening) -> float:
    return max(float(np.abs(one.angle_deg[joint] - two.angle_deg[joint]).max()) for joint in one.angle_deg)


def test_curves_of_three_hands_are_one_call_and_the_same(monkeypatch: pytest.MonkeyPatch) -> None:
    scenes = [sim.presets()[key] for key in ("supple", "stiff", "tight")]
    apart = [sim.opening_curve(scene, CURRENT) for scene in scenes]  # from here on the hands at rest are remembered
    calls = Calls(monkeypatch)
    together = sim.opening_curves(scenes, CURRENT)
    assert calls.count == 1
    assert max(map(furthest_deg, together, apart)) < 1e-9
    assert all(np.abs(a.opening_mm - b.opening_mm).max() < 1e-9 for a, b in zip(together, apart, strict=True))
    assert furthest_deg(together[0], apart[2]) > 10.0  # twin: not one hand three times


def test_all_variants_of_why_are_one_call(monkeypatch: pytest.MonkeyPatch) -> None:
    supple, tight = (sim.presets()[key] for key in ("supple", "tight"))
    sim.explain_opening(supple, tight)
    calls = Calls(monkeypatch)
    found = sim.explain_opening(supple, tight)
    assert len(found.shares) >= 4
    assert calls.count == 4  # both scenes as they are, all variants, and all sets of fingers that could hold the second one back
