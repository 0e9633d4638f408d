"""Rows of the hand do not hang on a number's second digit: where others are fitted again with it, every row holds.

The sets in `hand_refits.csv` were found by `tests/bench/refit.py`, which also tells the moves; here some of them are asked again
of the rows themselves, published ones and common practice alike. Each fails when what was fitted again is taken away.
"""

from __future__ import annotations

import pytest
from bench import refit

SLOW = {"places of pads"}
"""Takes as long as all other rows together; `refit.py --check` asks it of every set."""

STORED = refit.stored()
ASKED = [("pip.flexion_deg", 103.5), ("hood.share", 1.115), ("muscle_curve.passive_shape", 3.9)]


def broken() -> set[str]:
    return {name for name, holds in refit.hand_margins.ROWS.items() if name not in SLOW and not holds()}


@pytest.mark.parametrize(("held", "at"), ASKED)
def test_fitted_again_every_row_holds(held: str, at: float) -> None:
    numbers = STORED[held, at]
    with refit.with_set(numbers):
        assert not broken()
    with refit.with_set({held: numbers[held]}):  # twin: the digit alone
        assert broken()


def test_every_set_stays_inside_the_ranges_of_its_numbers() -> None:
    ends, now = refit.free(), refit.values()
    for (held, at), numbers in STORED.items():
        assert numbers[held] == at != now[held]
        assert all(ends[name][0] <= value <= ends[name][1] for name, value in numbers.items() if name != held), held
