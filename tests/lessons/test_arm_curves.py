"""Other arms about one scene: those that lessons are counted with, worked out in one process that is then as it was."""

from __future__ import annotations

import dataclasses
import json
from pathlib import Path

import numpy as np
import pytest

from graspwave import lessons
from graspwave import simulator as sim
from graspwave.apps.told.arms import Arms, arms_of, joined
from graspwave.lessons.arm_curves import ARMS, arm_curves
from graspwave.lessons.arms import drawn, of_arm
from graspwave.lessons.bands import FILE, keys_of
from graspwave.simulator.answers import CURVE_MA
from graspwave.simulator.facts import number
from graspwave.simulator.other_numbers import other_numbers

SHIPPED = json.loads((Path(lessons.__file__).parent / FILE).read_text("utf-8"))["curves"]
TIGHT = sim.presets()["tight"]
DIGITS_MM = 0.006
"""Shipped bands have four digits."""


@pytest.fixture(scope="module")
def tight() -> Arms:
    """The arms about the tight hand."""
    return arms_of(TIGHT)


def shipped_of_the_tight_hand() -> dict[str, list[float]]:
    """What lessons ship about the curve of the tight hand: each of its arms was a process of its own."""
    lesson = lessons.load("claw")
    keys = [key for step in lesson.steps for picture in step.pictures if picture.kind == "curve"
            for label, key in keys_of(lesson, picture).items() if picture.keys["scenes"].value[label].value == "t"]
    return SHIPPED[keys[0]]


def off_mm(arms: Arms, band: dict[str, list[float]]) -> float:
    """How far the edges lie from those of lessons, at most."""
    edges = ((arms.low_mm, band["low"]), (arms.high_mm, band["high"]))
    return max(float(np.max(np.abs(np.interp(band["x"], CURVE_MA, own) - theirs))) for own, theirs in edges)


def test_the_band_is_the_one_that_lessons_draw_about_the_same_hand(tight: Arms) -> None:
    band = shipped_of_the_tight_hand()
    assert band["of"] == tight.of == ARMS
    assert off_mm(tight, band) < DIGITS_MM
    fewer = joined([(tight.opening_mm[1:], tight.claw[1:])])
    assert off_mm(fewer, band) > 10.0 * DIGITS_MM, "one arm less would be seen"


def test_the_process_is_as_it_was_and_pieces_are_what_the_whole_is(tight: Arms) -> None:
    before = sim.opening_curve(TIGHT, CURVE_MA).opening_mm
    opening, claw = arm_curves(TIGHT, range(99, 101))
    assert np.array_equal(opening, tight.opening_mm[98:])
    assert np.array_equal(claw, tight.claw[98:])
    assert np.array_equal(sim.opening_curve(TIGHT, CURVE_MA).opening_mm, before)
    assert np.max(np.abs(opening - before)) > 1.0


def test_a_finger_that_begins_to_claw_is_no_claw_yet() -> None:
    """The usual arm, seed 0: the supple hand 80 mm open at 28 mA meets the published rule and begins to claw."""
    supple = sim.presets()["supple"]
    rule = sim.opening_curve(supple, CURVE_MA).claw
    claw = arm_curves(supple, [0])[1][0]
    k = int(np.flatnonzero(CURVE_MA == 28.0)[0])
    assert (bool(rule[k]), bool(claw[k])) == (True, False)
    assert np.any(claw[k:])


def test_other_numbers_are_forgotten_even_where_the_work_fails() -> None:
    name, before = "recruitment.axon.spread_ln", number("recruitment.axon.spread_ln")
    usual = sim.recruitment_curve(TIGHT, [15.0])["EDC"]

    def fails() -> None:
        with other_numbers({name: 2.0 * before}):
            assert number(name) == 2.0 * before
            assert abs(sim.recruitment_curve(TIGHT, [15.0])["EDC"] - usual) > 1e-3
            raise ZeroDivisionError

    with pytest.raises(ZeroDivisionError):
        fails()
    assert number(name) == before
    assert sim.recruitment_curve(TIGHT, [15.0])["EDC"] == usual
    with pytest.raises(KeyError), other_numbers({"no.such.record": 1.0}):
        pass


def test_what_is_remembered_is_forgotten_whatever_remembers_it() -> None:
    """The hand's own model is remembered far from the facts: an arm with other bones has another posture, and back again."""
    held = TIGHT.replace("channel.0.pulse.amplitude_ma", 0.0)
    rest = sim.opening_curve(held, [0.0]).opening_mm[0]
    with other_numbers({"hand.tone.stretch_gain": 0.5 * number("hand.tone.stretch_gain")}):
        assert abs(sim.opening_curve(held, [0.0]).opening_mm[0] - rest) > 0.01
    assert sim.opening_curve(held, [0.0]).opening_mm[0] == rest


def test_an_arm_of_any_scene_stays_within_the_ranges_of_its_settings() -> None:
    ends = {name: sim.setting(f"hand.{name}").range or (0.0, 0.0) for name in (
        "strength", "finger_tone", "wrist_tone", "fat_mm", "hand_length_mm", "flexor_length_factor")}
    for side in (0, 1):
        hand = dataclasses.replace(TIGHT.hand, **{name: both[side] for name, both in ends.items()})
        for seed in range(1, 30):
            other = of_arm(dataclasses.replace(TIGHT, hand=hand), seed).hand
            assert all(low <= getattr(other, name) <= high for name, (low, high) in ends.items())
    assert of_arm(TIGHT, 0) is TIGHT
    assert drawn(0) == {}
