"""Every session ends, and on its end: any length, pauses, on and off times, and by timer and by switch."""

from __future__ import annotations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from graspwave import simulator as sim
from graspwave.simulator.practice.clock import Clock, TimeUp

BASE = sim.presets()["tight"]


@pytest.mark.parametrize("minutes", [20.00000001, 0.05, 0.0500001, 1.0 / 3.0, 12.3456789, 59.999999999])
@pytest.mark.parametrize("control", ["timed", "held"])
def test_a_session_between_two_milliseconds_ends(minutes: float, control: str) -> None:
    done = sim.run_practice(BASE.replace("session.minutes", minutes), control)
    assert done.log[-1].t_s + done.log[-1].lasts_s == pytest.approx(60.0 * minutes, abs=0.001)


@settings(max_examples=25, deadline=None)
@given(
    minutes=st.floats(0.05, 12.0), on_s=st.floats(0.5, 20.0), off_s=st.floats(0.0, 40.0), up_s=st.floats(0.0, 0.2),
    warm=st.floats(0.0, 10.0), control=st.sampled_from(["timed", "held"]), delay_s=st.floats(0.0, 5.0),
    carry_pulses=st.booleans(),
)
def test_every_session_ends(
    minutes: float, on_s: float, off_s: float, up_s: float, warm: float, control: str, delay_s: float, carry_pulses: bool,
) -> None:
    scene = BASE
    for path, value in {
        "session.minutes": minutes, "channel.0.ramp.up_s": up_s, "channel.0.ramp.down_s": up_s, "channel.0.timing.on_s": on_s,
        "channel.0.timing.off_s": off_s, "channel.0.timing.delay_s": delay_s, "session.warm_up_minutes": warm,
    }.items():
        scene = scene.replace(path, value)
    done = sim.run_practice(scene, control, carry_pulses=carry_pulses)
    ends = [round(event.t_s + event.lasts_s, 3) for event in done.log]
    assert ends == sorted(ends)
    assert ends[-1] == pytest.approx(60.0 * minutes, abs=0.001)


def test_a_clock_whose_end_is_kept_unrounded_would_be_found() -> None:
    clock = Clock(1, 1200.0000006)
    clock.end_s = 1200.0000006  # as it was: no step can be so short
    clock.t = 1200.0
    for _ in range(3):
        clock._lasts("wait", 5.0)  # time stands, and the end is never told
    clock.end_s = Clock(1, 1200.0000006).end_s
    with pytest.raises(TimeUp):
        clock._lasts("wait", 5.0)
