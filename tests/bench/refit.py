"""Which rows of the hand hang on a number's second digit once the numbers that were fitted with it are fitted again.

    OPENBLAS_NUM_THREADS=1 python tests/bench/refit.py                 # every number whose second digit breaks a row
    OPENBLAS_NUM_THREADS=1 python tests/bench/refit.py fds.force_n     # some, by name
    OPENBLAS_NUM_THREADS=1 python tests/bench/refit.py --write         # sets found go to tests/reference/hand_refits.csv too
    OPENBLAS_NUM_THREADS=1 python tests/bench/refit.py --check         # the sets stored there, asked of every row

Changed alone, a number asks what no fitted model bears: its fellows were fitted to the same rows with it. Here it is set one
less or one more in its second digit (`sensitivity.digit_apart`) and held there, and the others that are fitted, set or chosen
are looked for again, each within its own range, until every row holds: its profile (Raue and others 2009, Bioinformatics
25:1923), asked for rows that hold or not in place of a likelihood. A row hangs on the digit only where no such set is found.

The search is a chain of linear programmes: margins of all rows (`hand_margins`), their slopes by each number, the least sum of
moves (as shares of the numbers' ranges) that brings every margin over a bar, within a step. What it gives is asked of the rows
themselves.
"""

from __future__ import annotations

import csv
import re
import sys
from collections.abc import Iterator, Mapping
from contextlib import ExitStack, contextmanager
from dataclasses import dataclass
from functools import cached_property
from pathlib import Path

import numpy as np
from scipy.optimize import linprog

HERE = Path(__file__).resolve()
sys.path[:0] = [str(HERE.parents[2]), str(HERE.parents[1]), str(HERE.parents[1] / "reference"), str(HERE.parent)]

import hand_margins  # noqa: E402
import hand_rows  # noqa: E402
import sensitivity  # noqa: E402
from hand_rows import SETTINGS, Number, unpublished, with_number, with_setting  # noqa: E402

STORED = HERE.parents[1] / "reference" / "hand_refits.csv"
SWITCHES = ("thumb.driven", "wrist.hard_end", "tone.wrist_base")
ROUNDS, FIRST_STEP, LEAST_STEP, LEAST_STRIDE = 25, 0.15, 0.002, 1.0 / 16.0
BAR = 0.05
"""Margin asked of every row, in steps that matter; raised for a row that does not hold in spite of it."""
DIGITS = 6

Set = dict[str, Number]
"""Numbers by name, those that differ from what they are in the tables."""


def name_of(key: str, name: str) -> str:
    """A setting of a preset, as `sensitivity.changes` names it."""
    return f"{name}, {key or 'all'}"


def values() -> Set:
    """Every number that is not published, with the presets' settings, as it is."""
    found: Set = {name: record.value for name, record in unpublished().items()}
    return found | {name_of(*two): float(getattr(hand_rows.presets()[two[0] or "supple"].hand, two[1])) for two in SETTINGS}


def free() -> dict[str, tuple[float, float]]:
    """Numbers that may be fitted again, with their ends: fitted, set, chosen or invented, one number each, no switch."""
    found = {}
    for name, record in unpublished().items():
        ours = record.mark in ("derived", "demo") and (not record.source or re.search(r"\bfitted\b|follows from", record.note))
        if isinstance(record.value, tuple) or name in SWITCHES or not ours:
            continue
        low, high = hand_rows.ends(record)
        printed = re.search(r"published (?:spread )?([\d.]+) to ([\d.]+)", record.note)
        if printed:  # no further off what is published than it is
            low, high = max(low, min(record.value, float(printed[1]))), min(high, max(record.value, float(printed[2])))
        found[name] = (low, high)  # type: ignore[assignment]
    return found | {name_of(*two): ends for two, ends in SETTINGS.items()}


@contextmanager
def with_set(numbers: Mapping[str, Number]) -> Iterator[None]:
    """Several numbers and settings changed for a while."""
    settings = {name_of(*two): two for two in SETTINGS}
    with ExitStack() as kept:
        for name, value in numbers.items():
            kept.enter_context(with_setting(*settings[name], value) if name in settings else with_number(name, value))  # type: ignore[arg-type]
        yield


def margins(numbers: Mapping[str, Number]) -> np.ndarray:
    with with_set(numbers):
        return np.array(list(hand_margins.margins().values()))


class Search:
    """Looks for a set that meets every row with one number held."""

    def __init__(self) -> None:
        self.start = values()
        self.ends = free()
        self.named = list(hand_margins.margins())
        self.row = np.array([list(hand_margins.ROWS).index(hand_margins.row_of(name)) for name in self.named])
        self.low, self.high = np.array(list(self.ends.values())).T
        self.width = self.high - self.low
        self.home = np.array([float(self.start[name]) for name in self.ends])  # type: ignore[arg-type]

    @cached_property
    def slopes_at_home(self) -> np.ndarray:
        """Good enough for a first step, whatever is held."""
        return self.slopes(self.home, margins({}), {})

    def numbers(self, at: np.ndarray, held: Set) -> Set:
        """The set at a point, those that have not moved left out."""
        moved = {name: round(float(v), DIGITS) for name, v, was in zip(self.ends, at, self.home, strict=True) if v != was}
        return moved | held

    def slopes(self, at: np.ndarray, margin: np.ndarray, held: Set, share: float = 0.01) -> np.ndarray:
        """Change of every margin with each free number over its whole range, by a difference to the side that has room."""
        found = np.zeros((margin.size, at.size))
        for j, name in enumerate(self.ends):
            if name not in held:
                other, turn = at.copy(), share if at[j] + share * self.width[j] <= self.high[j] else -share
                other[j] += turn * self.width[j]
                found[:, j] = (margins(self.numbers(other, held)) - margin) / turn
        return found

    def programme(
        self, at: np.ndarray, margin: np.ndarray, slope: np.ndarray, bar: np.ndarray, step: float, held: Set
    ) -> np.ndarray:
        """Where to go: least sum of moves from home, with what stays under the bar paid for dearly."""
        n, m = at.size, margin.size
        away = (self.home - at) / self.width
        eye, none = np.eye(n), np.zeros((n, m))
        upper = np.vstack([np.hstack([-slope, np.zeros((m, n)), -np.eye(m)]),
                           np.hstack([eye, -eye, none]), np.hstack([-eye, -eye, none])])  # fmt: skip
        bound = np.concatenate([margin - bar, away, -away])
        still = np.array([name in held for name in self.ends])
        low = np.where(still, 0.0, np.maximum(-step, (self.low - at) / self.width))
        high = np.where(still, 0.0, np.minimum(step, (self.high - at) / self.width))
        limits = [*zip(low, high, strict=True), *([(0.0, None)] * (n + m))]
        cost = np.concatenate([np.zeros(n), np.ones(n), np.full(m, 100.0)])
        found = linprog(cost, A_ub=upper, b_ub=bound, bounds=limits, method="highs")
        turn = found.x[:n]
        return np.where(np.abs(at + turn * self.width - self.home) < 1e-9 * self.width, self.home, at + turn * self.width)

    def find(self, held: Set, start: Set | None = None) -> tuple[Set, list[str]]:
        """The set, and the rows that it does not bring back (none: found); looked for from home, or from another set."""
        at = np.array([float((start or {}).get(name, home)) for name, home in zip(self.ends, self.home, strict=True)])  # type: ignore[arg-type]
        bar, step, fresh = np.full(len(self.named), BAR), FIRST_STEP, False
        margin, slope = margins(self.numbers(at, held)), self.slopes_at_home.copy()
        for _ in range(ROUNDS):
            other = self.programme(at, margin, slope, bar, step, held)
            there, turn = margins(self.numbers(other, held)), (other - at) / self.width
            slope += np.outer(there - margin - slope @ turn, turn) / max(float(turn @ turn), 1e-12)  # Broyden's: right along it
            if short(there, bar) < 0.97 * short(margin, bar):
                at, margin, step, fresh = other, there, min(step * 1.5, 0.5), False
            elif fresh:
                step /= 2.0
            else:
                slope, fresh = self.slopes(at, margin, held), True
            if short(margin, bar) <= 1e-6:
                lost = self.lost(at, held)
                if not lost or set(lost) == {"places of pads"}:
                    return self.numbers(at, held), lost
                bar[np.isin(self.row, [list(hand_margins.ROWS).index(name) for name in lost])] += 0.2
            elif step < LEAST_STEP:
                break
        return self.numbers(at, held), self.lost(at, held)

    def reach(self, name: str, value: float, to: float) -> tuple[float, Set, list[str]]:
        """How far a number can be led towards a value with the others following, its set there, and what stands against more."""
        good, found, against, stride = 0.0, {name: value}, list[str](), 0.25
        while good < 1.0 and stride >= LEAST_STRIDE:
            next_to = min(good + stride, 1.0)
            at = round(value + next_to * (to - value), DIGITS)
            numbers, lost = self.find({name: at}, found)
            print(f"  {name} at {at:.5g}: {'; '.join(lost) or len(numbers) - 1}", file=sys.stderr, flush=True)
            if lost:
                against, stride = lost, stride / 2.0
            else:
                good, found = next_to, numbers
        return float(found[name]), found, [] if good == 1.0 else against  # type: ignore[arg-type]

    def lost(self, at: np.ndarray, held: Set) -> list[str]:
        """Rows that do not hold there, asked of the rows themselves."""
        with with_set(self.numbers(at, held)):
            return hand_margins.broken()


def short(margin: np.ndarray, bar: np.ndarray) -> float:
    """How much is missing under the bar, over all margins."""
    return float(np.maximum(0.0, bar - margin).sum())


@dataclass(frozen=True)
class Case:
    """A number whose second digit breaks rows when it is changed alone, and what a search for the others gave.

    ``numbers`` is the set with the number at the value asked for, or as near to it as it could be led; ``against`` tells the rows
    that do not come back beyond.
    """

    name: str
    value: Number
    to: Number
    alone: list[str]
    numbers: Set
    against: list[str]

    def moves(self, search: Search) -> list[tuple[float, str]]:
        """Size of each number's move as a share of its range, largest first."""
        share = {n: abs(float(v) - float(search.start[n])) / (search.ends[n][1] - search.ends[n][0])  # type: ignore[arg-type]
                 for n, v in self.numbers.items() if n != self.name}  # fmt: skip
        return sorted(((size, n) for n, size in share.items()), reverse=True)

    def line(self, search: Search) -> str:
        moves = [f"{n} {size:.1%}" for size, n in self.moves(search)]
        found = ", ".join(moves[:4]) + (f" and {len(moves) - 4} more" if len(moves) > 4 else "")
        if self.against:
            found = f"up to {sensitivity.told(self.numbers[self.name])}: {found}; beyond: {', '.join(self.against)}"
        told = (self.name, sensitivity.told(self.value), sensitivity.told(self.to), "; ".join(self.alone), found)
        return f"| {' | '.join(told)} |"


def hanging(only: list[str]) -> Iterator[tuple[str, Number, Number, list[str]]]:
    """Numbers whose second digit breaks a row, changed alone: name, value, changed to, rows."""
    for name, _, value, two, change in sensitivity.changes():
        if only and name not in only:
            continue
        for other in sensitivity.digit_apart(value, two):
            if other != value:
                with change(other):
                    lost = hand_margins.broken()
                if lost:
                    yield name, value, other, lost


def stored(path: Path = STORED) -> dict[tuple[str, float], Set]:
    """Sets that were found, by the number held and what it is held at."""
    found: dict[tuple[str, float], Set] = {}
    for one in csv.DictReader(path.read_text("utf-8").splitlines()):
        found.setdefault((one["held"], float(one["at"])), {})[one["number"]] = float(one["value"])
    return found


def write(cases: list[Case]) -> None:
    lines = ["held,at,number,value"]
    for case in cases:
        at = case.numbers[case.name]
        lines += [f'"{case.name}",{at:.8g},"{name}",{value:.8g}' for name, value in case.numbers.items() if at != case.value]
    STORED.write_text("\n".join(lines) + "\n", "utf-8")


def check() -> None:
    """Every stored set, asked of every row."""
    for (held, at), numbers in stored().items():
        with with_set(numbers):
            lost = hand_margins.broken()
        print(f"{held} at {at:g}: {'; '.join(lost) or 'every row holds'}", flush=True)


def main(arguments: list[str]) -> None:
    if "--check" in arguments:
        return check()
    search, cases = Search(), []
    print(f"{len(search.ends)} numbers may be fitted again", flush=True)
    print("| number | value | held at | rows that break alone | fitted again: moves, share of range |")
    print("| --- " * 5 + "|")
    for name, value, other, lost in hanging([word for word in arguments if not word.startswith("--")]):
        numbers, left = search.find({name: other})
        if left and isinstance(value, float) and isinstance(other, float):
            _, numbers, left = search.reach(name, value, other)
        cases.append(Case(name, value, other, lost, numbers, left))
        print(cases[-1].line(search), flush=True)
    if "--write" in arguments:
        write(cases)
    return None


if __name__ == "__main__":
    main(sys.argv[1:])
