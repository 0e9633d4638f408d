"""What strangers send, for minutes instead of a moment: ``python -m tests.bench.fuzz [--minutes 10] [what ...]``.

The same looks as ``tests/test_fuzz.py``, each with new seeds over and over until its time is up; what fails is told with the
smallest input that makes it fail, which then belongs into that file as an example. Reported, never asserted.
"""

from __future__ import annotations

import argparse
import os
import random
import sys
import time
import traceback
from collections.abc import Callable
from pathlib import Path
from typing import Any

from hypothesis import seed

sys.path[:0] = [str(Path(__file__).parents[1])]

os.environ["GRASPWAVE_FUZZ"] = "300"  # inputs of one round

import test_fuzz  # noqa: E402


def looks() -> dict[str, Callable[[], None]]:
    """What there is to look at, by the end of its test's name."""
    return {name.removeprefix("test_"): work for name, work in vars(test_fuzz).items() if name.startswith("test_")}


def campaign(work: Any, minutes: float) -> tuple[int, int, list[str]]:
    """Examples, rounds and failures of one look in so many minutes."""
    inner, count, rounds, failures = work.hypothesis.inner_test, 0, 0, list[str]()

    def counted(*given: Any, **named: Any) -> None:
        nonlocal count
        count += 1
        inner(*given, **named)

    end = time.monotonic() + 60.0 * minutes
    while time.monotonic() < end:
        work.hypothesis.inner_test = counted
        rounds += 1
        try:
            seed(random.SystemRandom().getrandbits(64))(work)()
        except Exception as error:
            said = "".join(traceback.format_exception_only(error)) + "\n".join(getattr(error, "__notes__", ()))
            if said not in failures:
                failures.append(said)
        finally:
            work.hypothesis.inner_test = inner
    return count, rounds, failures


def main() -> None:
    """Run campaigns one after another."""
    options = argparse.ArgumentParser(description=__doc__)
    options.add_argument("--minutes", type=float, default=10.0, help="for each look")
    options.add_argument("what", nargs="*", help="words of the looks' names; all where none is given")
    given = options.parse_args()
    for name, work in looks().items():
        if given.what and not any(word in name for word in given.what):
            continue
        count, rounds, failures = campaign(work, given.minutes)
        print(f"{name}: {count} inputs in {rounds} rounds, {len(failures)} findings", flush=True)
        for said in failures:
            print("  " + said.replace("\n", "\n  "), flush=True)


if __name__ == "__main__":
    main()
