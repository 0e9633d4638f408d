"""The fixture by which reference tests keep what they set beside published numbers (`record.py`)."""

from __future__ import annotations

from collections.abc import Iterator

import pytest
from record import MADE, Rows, compare, shipped


@pytest.fixture
def row(request: pytest.FixtureRequest) -> Iterator[Rows]:
    """Sets numbers beside published ones; the module's ``PART`` is the heading under which they are shown."""
    test = f"{request.path.name}::{request.node.name}"
    rows = Rows(test, request.module.PART)
    yield rows
    made = request.config.stash.get(MADE, None)
    if made is not None:
        made.extend(rows.made)
    else:
        compare(rows.made, shipped().get(test, []))
