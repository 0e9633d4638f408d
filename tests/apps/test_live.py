"""The live task: the switch and its safety, the hand ahead, and what makes a repetition or a drop. Time is handed in."""

from __future__ import annotations

import numpy as np
import pytest

from graspwave import simulator as sim
from graspwave.apps.practise.live import AHEAD_S, LOST_S, STEP_S, Live


@pytest.fixture
def live() -> Live:
    scene = sim.presets()["supple"].replace("channel.0.pulse.amplitude_ma", 18.0)
    return Live(scene.replace("task.object", "pot").replace("task.diameter_mm", 70.0))


def run(live: Live, start_s: float, end_s: float, *, beat: bool = True) -> float:
    """Go on as the page does, a piece ahead twice a second, watched ten times a second."""
    for now in np.arange(start_s, end_s, 0.1):
        if live.held and beat:
            live.beat(now)
        live.lost(now)
        if live.piece is None or now > live.piece.t_s[-1] - 0.5 * AHEAD_S:
            live.ahead(now)
        live.watch(now)
    return end_s


def test_the_hand_is_what_the_chain_makes_of_the_presses(live: Live) -> None:
    run(live, 0.0, 1.0)
    live.press(1.0)
    run(live, 1.0, 5.0)
    chain = sim.simulate(live.scene, duration_s=5.0, held=[(1.0, 5.0)], sample_s=0.02)
    for now in (4.2, 4.8):
        assert live.opening_mm(now) == pytest.approx(np.interp(now, chain.time_s, chain.opening_mm), abs=1.0)


def test_the_thumb_moves_as_in_the_chain_and_goes_on_where_a_new_piece_begins(live: Live) -> None:
    live = Live(live.scene.replace("channel.0.pads.along_percent", 45.0))  # nearer to the thumb's own extensors
    run(live, 0.0, 1.0)
    live.press(1.0)
    seen = []
    for now in np.arange(1.0, 5.0, 0.1):
        run(live, now, now + 0.1)
        assert live.piece is not None
        before = float(np.interp(now, live.piece.t_s, live.piece.angle_deg["CMC"]))
        live.ahead(now)
        assert live.piece.angle_deg["CMC"][0] == pytest.approx(before, abs=1e-6)
        seen.append(before)
    chain = sim.simulate(live.scene, duration_s=5.0, held=[(1.0, 5.0)], sample_s=0.02)
    assert abs(seen[-1] - seen[0]) > 0.5
    assert seen[-1] == pytest.approx(np.interp(4.9, chain.time_s, chain.angle_deg["CMC"]), abs=0.5)


def test_current_falls_as_the_ramp_says_from_the_moment_of_release(live: Live) -> None:
    live.press(0.5)
    run(live, 0.5, 4.0)
    live.release(4.0)
    piece = live.piece
    assert piece is not None
    ramp, full = live.scene.channel[0].ramp.down_s, 18.0
    wanted = np.clip(full * (1.0 - (piece.t_s - 4.0) / ramp), 0.0, full)
    one_pulse = full / (ramp * live.scene.channel[0].train.frequency_hz)  # amplitude is read at each pulse's onset
    assert np.abs(piece.current_ma - wanted).max() <= one_pulse + 1e-6
    assert np.allclose(np.diff(piece.t_s), STEP_S)


def test_a_silent_page_lets_go_in_time(live: Live) -> None:
    live.press(0.0)
    run(live, 0.0, 2.0)
    run(live, 2.0, 3.5, beat=False)
    assert not live.held
    assert live.presses[0][1] <= 2.0 + LOST_S + 0.2
    assert live.presses[0][1] + 0.0 < 2.0 + 1.5
    assert "connection lost" in live.log[-1].what


def test_a_hold_that_the_page_ended_is_let_go_and_not_lost(live: Live) -> None:
    live.press(0.0)
    run(live, 0.0, 2.0)
    live.end(2.05)
    assert not live.lost(4.0)
    assert live.presses == [(0.0, 2.05)]
    assert live.log[-1].what == "switch let go"
    live.press(5.0)
    assert live.held
    assert not live.lost(5.1)
    assert live.held


def test_release_without_press_and_press_twice_do_nothing(live: Live) -> None:
    live.release(1.0)
    assert live.presses == []
    live.press(1.0)
    live.press(1.5)
    live.release(2.0)
    assert live.presses == [(1.0, 2.0)]


def repetition(live: Live, start_s: float) -> float:
    """Open, reach, let go, carry."""
    live.press(start_s)
    now = run(live, start_s, start_s + 3.0)
    live.move(live.reach_mm, now)
    live.release(now)
    now = run(live, now, now + 3.0)
    assert live.step == "carry"
    return now


def test_a_repetition_is_counted_when_the_object_is_put_down(live: Live) -> None:
    now = repetition(live, 0.5)
    assert live.opening_mm(now) >= 69.0  # the fingers stop on the object
    live.move(live.reach_mm, now)
    assert live.step == "let go"
    live.press(now)
    now = run(live, now, now + 3.0)
    live.release(now)
    assert (live.repetitions, live.drops) == (1, 0)
    live.move(-2.0 * live.reach_mm, now)
    assert live.step == "reach"


def test_a_stimulus_in_mid_carry_drops_the_object(live: Live) -> None:
    now = repetition(live, 0.5)
    live.move(0.5 * live.reach_mm, now)
    live.press(now)
    run(live, now, now + 3.0)
    assert (live.repetitions, live.drops) == (0, 1)
    assert "mid-carry" in "".join(event.what for event in live.log)


def test_a_narrow_hand_cannot_go_round_the_object(live: Live) -> None:
    now = run(live, 0.0, 1.0)
    live.move(live.reach_mm, now)
    assert live.at_mm < live.reach_mm
    assert live.step == "reach"


def test_the_timer_runs_without_the_switch() -> None:
    scene = sim.presets()["supple"].replace("channel.0.pulse.amplitude_ma", 18.0)
    live = Live(scene, control="timed", begun_s=5.0)
    live.press(1.0)
    assert not live.held
    run(live, 0.0, 5.0)
    assert not live.on(4.9)
    run(live, 5.0, 9.0)
    assert live.on(9.0)
    assert live.opening_mm(9.0) > 60.0
