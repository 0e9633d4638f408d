"""Where two postures can rest side by side, every door shows the one that a rise of the current from nothing leads to."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np
import pytest

from graspwave import simulator as sim
from graspwave.apps.desk.state import DeskState
from graspwave.apps.practise.showing import _open_mm
from graspwave.lessons.vocabulary import curve as words
from graspwave.lessons.vocabulary.scenes import lesson_scenes
from graspwave.simulator import hand as mechanics
from graspwave.simulator import rising
from graspwave.simulator.practice.opening import Openings
from graspwave.simulator.rising import risen

AMPLITUDE = "channel.0.pulse.amplitude_ma"
HANDS = ("supple", "stiff", "tight")
CURRENTS = (0.5, 5.0, 10.0, 14.0, 18.0, 22.0, 28.0, 34.0, 40.0, 47.0, 54.0, 54.5, 55.0, 56.0, 57.0, 58.0, 59.0, 59.5, 60.0)
APART_DEG, APART_MM = 0.6, 0.6
"""The ripple of single pulses, and what is left of the way of joints that go slowly: less than one reads off a joint."""
LONG_S = 25.0
"""A claw comes slowly: after six seconds of full current the stiff hand's middle joints are still 5 degrees away."""


def shown(scene: sim.Scene) -> tuple[np.ndarray, float]:
    """What Explore's picture of the hand is drawn from: angles [deg] and opening [mm]."""
    point = DeskState(scene).point
    return np.array([point.angle_deg[joint][0] for joint in mechanics.ANGLES]), float(point.opening_mm[0])


def plateau(scene: sim.Scene) -> tuple[np.ndarray, float]:
    """The same late in the full current of a scene's cycle; nothing tires, for the picture is of a rested hand."""
    run = sim.simulate(scene.replace("channel.0.timing.on_s", LONG_S + 5.0).without("tiring"), LONG_S, sample_s=0.05)
    return np.array([run.angle_deg[joint][-1] for joint in mechanics.ANGLES]), float(run.opening_mm[-1])


def alike(one: tuple[np.ndarray, float], two: tuple[np.ndarray, float]) -> bool:
    return bool(np.abs(one[0] - two[0]).max() < APART_DEG and abs(one[1] - two[1]) < APART_MM)


def at_once(scene: sim.Scene) -> tuple[np.ndarray, float]:
    """The posture that the walk from rest finds: the twin of the rise."""
    asked = risen(scene, np.array([scene.channel[0].pulse.amplitude_ma])).asked
    (found,) = mechanics.equilibria([asked._replace(since=None)])
    return np.array([found.angle_deg[joint][0] for joint in mechanics.ANGLES]), float(found.opening_mm[0])


@pytest.mark.parametrize("key", HANDS)
def test_the_picture_is_where_the_cycle_stands(key: str) -> None:
    scene = sim.presets()[key]
    assert scene.channel[0].ramp.up_s >= 0.5
    assert [ma for ma in CURRENTS if not alike(shown(at := scene.replace(AMPLITUDE, ma)), plateau(at))] == []


def test_a_walk_from_rest_would_show_another_posture() -> None:
    """The twin: without its way the tight hand is drawn with its wrist bent where its cycle stands with it back."""
    scenes = [sim.presets()["tight"].replace(AMPLITUDE, ma) for ma in (54.5, 57.0, 59.5)]
    assert not any(alike(at_once(scene), plateau(scene)) for scene in scenes)
    assert all(at_once(scene)[0][0] - plateau(scene)[0][0] > 60.0 for scene in scenes)


@pytest.mark.parametrize(("up_s", "rises"), [(0.0, False), (0.1, False), (0.5, True), (3.0, True)])
def test_a_current_that_is_there_at_once_may_lead_elsewhere(up_s: float, rises: bool) -> None:
    scene = sim.presets()["tight"].replace(AMPLITUDE, 57.0).replace("channel.0.ramp.up_s", up_s)
    assert alike(plateau(scene), shown(scene)) == rises
    assert alike(plateau(scene), at_once(scene)) != rises


@pytest.fixture
def _step() -> Iterator[None]:
    before = rising.STEP_MA
    yield
    rising.STEP_MA = before


@pytest.mark.usefixtures("_step")
@pytest.mark.parametrize("key", HANDS)
def test_the_steps_of_the_way_make_no_difference(key: str) -> None:
    current = np.array([3.3, 17.7, 29.0, 31.0, 44.4, 57.1, 59.4])
    found = []
    for step_ma in (0.1, 1.0, 3.0):
        rising.STEP_MA = step_ma
        found.append(sim.opening_curve(sim.presets()[key], current))
    for other in found[1:]:
        assert np.abs(other.angle_deg["wrist"] - found[0].angle_deg["wrist"]).max() < 0.05
        assert np.abs(other.opening_mm - found[0].opening_mm).max() < 0.05


def test_no_posture_hangs_on_what_else_is_asked_for() -> None:
    scene, current = sim.presets()["tight"], np.array([59.4, 12.25, 55.0, 29.55, 0.0, 57.0])
    together = sim.opening_curve(scene, current)
    alone = [sim.opening_curve(scene, [ma]) for ma in current]
    for joint in mechanics.ANGLES:
        assert together.angle_deg[joint].tolist() == [one.angle_deg[joint][0] for one in alone]


def test_every_door_shows_the_same_hand() -> None:
    """At 57 mA, where the tight hand could rest in two postures 4 mm apart."""
    scene = sim.presets()["tight"].replace(AMPLITUDE, 57.0).replace("task.current", "as set")
    now, other = shown(scene)[1], at_once(scene)[1]
    assert other - now > 3.0
    doors = {
        "curve": float(np.interp(57.0, DeskState(scene).curve.amplitude_ma, DeskState(scene).curve.opening_mm)),
        "why": sim.explain_opening(scene.replace(AMPLITUDE, 20.0), scene).after_mm,
        "why, back": sim.explain_opening(scene, scene.replace(AMPLITUDE, 20.0)).before_mm,
        "tired by nothing": float(sim.tired_opening_mm(scene, [1.0])[0]),
        "lesson": float(words.mm(lesson_scenes()["t"], 57.0)),
        "practice": float(Openings(scene, 57.0, 0.0, 0.0).mm("free", 1.0, 57.0, 1.0)[0]),
        "practise": _open_mm(scene),
    }
    assert {name: mm for name, mm in doors.items() if abs(mm - now) > 0.1} == {}


def test_what_each_mechanism_takes_lies_on_the_same_side() -> None:
    """From 50 to 57 mA the hand loses 4 mm bit by bit: no share may hold the 70 degrees that lie between its two postures."""
    tight = sim.presets()["tight"]
    why = sim.explain_opening(tight.replace(AMPLITUDE, 50.0), tight.replace(AMPLITUDE, 57.0))
    slow = [sim.explain_opening(tight.replace(AMPLITUDE, a), tight.replace(AMPLITUDE, a + 1.0)) for a in range(50, 57)]
    for name, mm in why.shares.items():
        assert mm == pytest.approx(sum(part.shares.get(name, 0.0) for part in slow), abs=1.0), name


def test_a_row_can_start_only_from_an_earlier_one() -> None:
    asked = risen(sim.presets()["supple"], np.array([2.0])).asked
    with pytest.raises(ValueError, match="'since' must name an earlier row"):
        mechanics.equilibria([asked._replace(since=np.arange(4))])
