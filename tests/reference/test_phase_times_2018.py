"""Phase times of a stimulated task: PMC6051484, figure 4, seven people with spinal cord injury, mean and standard error.

What a late switch-off does to them: Seo 2009; Fitts' slope from the log.
"""

from __future__ import annotations

import csv
from pathlib import Path
from statistics import fmean

import numpy as np
from record import Rows

from graspwave.simulator.facts import number
from graspwave.simulator.practice import Practice, run_practice
from graspwave.simulator.presets import presets
from graspwave.simulator.scene import Scene

PART = "Practice"

ROWS = {
    row["phase"]: (float(row["mean_s"]), float(row["se_s"]))
    for row in csv.DictReader(Path(__file__).with_name("phase_times_2018.csv").read_text("utf-8").splitlines())
}
PARTS = {"reach": ("reach",), "grasp and pull": ("close", "slide"), "release": ("release",)}
SETTINGS = {
    "task.diameter_mm": 50.0, "task.distance_mm": 300.0, "hand.switch_off_s": 0.4, "hand.switch_on_s": 0.2,
    "task.reaction_s": 0.0, "channel.0.ramp.up_s": 0.2, "channel.0.ramp.down_s": 0.2, "task.let_go": "at once",
    "task.move": "slide",
}  # healthy delays of Seo 2009; nobody waits for a ramp or a reaction
SLOPE_ERROR = 0.15  # load on the elbow grows with distance and slows far reaches: 6 %; the rest is chance in 12 % times


def cube(**changes: object) -> Scene:
    scene = presets()["supple"]
    for path, value in {**SETTINGS, **changes}.items():
        scene = scene.replace(path, value)
    return scene


def phase_s(run: Practice, phase: str) -> float:
    return fmean(event.lasts_s for event in run.log if event.phase == phase)


def misfits(scene: Scene) -> list[str]:
    """Phases that lie more than two standard errors off the mean of the seven."""
    run = run_practice(scene, "held", 1, 15.0)
    return [
        phase for phase, (mean, se) in ROWS.items()
        if abs(sum(phase_s(run, part) for part in PARTS[phase]) - mean) > 2.0 * se
    ]


def fitted_slope(scene: Scene) -> float:
    """Seconds a bit from the log of reaches to five distances."""
    bits, seconds = [], []
    for distance in (100.0, 150.0, 200.0, 250.0, 300.0):
        run = run_practice(scene.replace("task.distance_mm", distance), "held", 3, 15.0)
        reaches = [event for event in run.log if event.phase == "reach"]
        bits += [event.bits for event in reaches]
        seconds += [event.lasts_s for event in reaches]
    return float(np.polyfit(bits, seconds, 1)[0])


def slope_recovered(scene: Scene, expected: float) -> bool:
    return abs(fitted_slope(scene) / expected - 1.0) < SLOPE_ERROR


EXPECTED = number("reach.fitts.pace") * number("reach.fitts.b_s_per_bit")


def test_phases_take_the_published_time(row: Rows) -> None:
    run = run_practice(cube(), "held", 1, 15.0)
    for phase, (mean, se) in ROWS.items():
        row(f"time of a stimulated {phase}", sum(phase_s(run, part) for part in PARTS[phase]), mean - 2.0 * se, mean + 2.0 * se,
            published=mean, unit="s", source="phases-2018",
            note="two standard errors; pace and time to draw clear were set on two of three")


def test_phases_twin() -> None:
    """Flexors that let go after 5 s (paretic, Seo 2009) lengthen letting go and nothing else that is checked.

    By nearly all of the 4.6 s where the grip is too strong for stimulation to open the hand against it.
    """
    late = cube(**{"hand.switch_off_s": 5.0})
    assert misfits(late) == ["release"]
    firm, firm_late = (run_practice(s.replace("hand.grip_left", 0.5), "held", 1, 15.0) for s in (cube(), late))
    assert 3.8 < phase_s(firm_late, "release") - phase_s(firm, "release") < 6.0
    run, late_run = run_practice(cube(), "held", 1, 15.0), run_practice(late, "held", 1, 15.0)
    assert 0.2 < phase_s(late_run, "release") - phase_s(run, "release") < 6.0  # stimulation may shorten it
    assert late_run.repetitions < run.repetitions
    assert "grasp and pull" in misfits(cube(**{"hand.switch_on_s": 1.9}))
    assert "reach" in misfits(cube(**{"task.distance_mm": 500.0}))


def test_fitts_slope_comes_back_from_the_log(row: Rows) -> None:
    row("seconds a bit of reaching (Fitts), from the log", fitted_slope(cube(**{"hand.elbow_strength": 1.0})),
        (1.0 - SLOPE_ERROR) * EXPECTED, (1.0 + SLOPE_ERROR) * EXPECTED, published=EXPECTED, unit="s", mark="derived")


def test_fitts_slope_twin() -> None:
    assert not slope_recovered(cube(**{"hand.elbow_strength": 1.0}), 1.3 * EXPECTED)
