"""Feeling and discomfort against what is published of them, mostly in words.

Size of pads (Doelker 2022; Alon 1985), phase (Mogyoros 1996; a preprint of forearm thresholds), and over what part of a trial's
currents the hand is open (PMC6465149). The functions are those of `tests/test_sensation.py` and `tests/hand_rows.py`, which hold
the rest of it.
"""

from __future__ import annotations

import numpy as np
import pytest
from hand_rows import presets, recipe_share
from record import Rows
from test_sensation import PLAIN, SHORT_US, SIZES_CM2, ends, motor_and_felt, powers, with_pulse

from graspwave.simulator.sensation import sensation_levels, weiss

PART = "Currents and feeling"
FLAT = 0.895  # "plateau": no more than a tenth down to 650 us, and half a per cent for the last digit


def test_size_of_pads(row: Rows) -> None:
    felt, limit = powers([PLAIN.replace("channel.0.pads.size_cm2", float(size)) for size in SIZES_CM2])
    row("power of the pad's size with which the current that is felt grows", felt, 0.0, 0.25, source="doelker-2022",
        note="published in words: size without significant influence; the upper end is ours")
    row("power of the pad's size with which most people's limit grows", limit, felt, 0.5, source="alon-1985",
        note="published in words: larger pads allow more before it hurts; the upper end is ours")
    with pytest.raises(AssertionError):  # twin: one ending under the rim, as it was
        Rows("twin", PART)("power", 0.72, 0.0, 0.25, source="doelker-2022")


def test_feeling_and_movement_part_as_their_constants_say(row: Rows) -> None:
    motor, felt = motor_and_felt()
    ratio, printed = motor / felt, np.array([weiss(w, 459.0) / weiss(w, 665.0) for w in SHORT_US])
    for us, ours, wanted in zip(SHORT_US[:-1], ratio / ratio[-1], printed / printed[-1], strict=False):
        row(f"movement over feeling at {us:g} us, over that at {SHORT_US[-1]:g} us", ours, 0.99 * wanted, 1.01 * wanted,
            published=wanted, unit="times", source="strength-duration-1996", note="from its two constants, 459 and 665 us")
        assert not 0.99 * wanted <= 1.0 <= 1.01 * wanted  # twin: one constant for both


def test_plateau(row: Rows) -> None:
    for what, column, start in (("felt", 0, 150.0), ("most people's limit", 3, 200.0)):
        found = [ends(sensation_levels(with_pulse(PLAIN, phase_us=us)))[column] for us in (50.0, start, 650.0)]
        row(f"current that is {what} at 650 us, over that at {start:g} us", found[2] / found[1], FLAT, 1.0, unit="times",
            source="strength-duration-forearm", note="published in words: a plateau; read as a tenth")
        assert found[1] / found[0] < FLAT  # twin: below it they fall


def test_a_trials_currents_open_the_hand(row: Rows) -> None:
    scene = presets()["trial"]
    row("share of a trial's 17 to 28 mA at which the supple hand is usefully open", recipe_share(scene), 0.7, 1.0, unit="share",
        source="trial-2019", note="people were treated with these currents; 60 mm and seven tenths are ours")
    assert recipe_share(scene.replace("hand.flexor_length_factor", 0.95)) < 0.7  # twin: a tight hand
