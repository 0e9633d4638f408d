"""Other numbers for a while: records of the facts changed, and all that was worked out with them and remembered forgotten."""

from __future__ import annotations

import dataclasses
import sys
from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from typing import Any

from graspwave.simulator.facts import all_facts

__all__ = ["other_numbers"]

_SHIPPED = {
    "facts.source_records", "facts.sources", "facts.all_facts", "axon.table.field_table", "conductor.pads.shipped_maps",
    "words.catalogue", "presets._presets", "compiling.cache_folder",
}
"""What is read from files whatever the numbers are; anything else that is remembered may hang on them."""


@contextmanager
def other_numbers(values: Mapping[str, float]) -> Iterator[None]:
    """Have the model work with other numbers inside the block, as a process would that had read them from its facts.

    Parameters
    ----------
    values : mapping
        By the full names of records that are there.

    Raises
    ------
    KeyError
        No such record.

    Notes
    -----
    All threads of the process see them, so it is for one that does nothing else meanwhile.

    Examples
    --------
    >>> from graspwave import simulator as sim
    >>> from graspwave.simulator.facts import number
    >>> with other_numbers({"recruitment.axon.spread_ln": 0.5}):
    ...     number("recruitment.axon.spread_ln")
    0.5
    """
    table = all_facts()
    before = {name: table[name] for name in values}
    try:
        table.update({name: dataclasses.replace(table[name], value=value) for name, value in values.items()})
        _forget()
        yield
    finally:
        table.update(before)
        _forget()


def _forget() -> None:
    for remembered in _remembering():
        remembered.cache_clear()


def _remembering() -> Iterator[Any]:
    """Every function of the loaded modules of the simulator that remembers what it gave, less what is shipped."""
    inside = __name__.rpartition(".")[0] + "."
    for module in [one for name, one in list(sys.modules.items()) if name.startswith(inside)]:
        for one in list(vars(module).values()):
            if hasattr(one, "cache_clear") and f"{one.__module__}.{one.__name__}".removeprefix(inside) not in _SHIPPED:
                yield one
