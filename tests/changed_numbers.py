"""A number of the tables changed for a while, for tests that ask what hangs on it."""

from __future__ import annotations

import dataclasses
from collections.abc import Callable, Iterator
from contextlib import contextmanager

from graspwave.simulator.facts import all_facts

__all__ = ["changed_number"]


@contextmanager
def changed_number(name: str, value: float | tuple[float, ...], forget: Callable[[], None]) -> Iterator[None]:
    """A number by its whole name; `forget` drops what was worked out with it, before and after."""
    table = all_facts()
    kept = table[name]
    table[name] = dataclasses.replace(kept, value=value)
    forget()
    try:
        yield
    finally:
        table[name] = kept
        forget()
