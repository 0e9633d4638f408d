"""What a reference test sets beside a published number: asserted, and kept for the page that shows all of them.

A test that asks for the fixture `row` (`conftest.py`) calls it once for each number:

    row("speed of a 20-um axon", velocity, 41.3, 44.7, unit="m/s", published=43.0, source="mcneal-1976")

The call fails where ours lies outside the band; a known miss is told with ``met=False`` and fails once it is met. What was set
beside what is compared with `apps/proof/proof.json`, which the page draws and the program carries: where they differ the page is
stale and the test fails. ``python -m tests.reference.write_proof`` writes it anew.
"""

from __future__ import annotations

import json
import math
from functools import cache
from pathlib import Path
from typing import Any

import pytest

__all__ = ["MADE", "PROOF", "Rows", "compare", "near", "shipped"]

PROOF = Path(__file__).parents[2] / "apps" / "proof" / "proof.json"
STALE_SHARE = 0.01
"""Of the band or of the number, whichever is larger: a dot that far off would be seen on the page."""

MADE = pytest.StashKey[list[dict[str, Any]]]()
"""Rows of a run that writes the page; no run that only tests has it."""


@cache
def shipped() -> dict[str, list[dict[str, Any]]]:
    """Rows that the program carries, by the test that made them."""
    found: dict[str, list[dict[str, Any]]] = {}
    for one in json.loads(PROOF.read_text("utf-8"))["rows"] if PROOF.exists() else ():
        found.setdefault(one["test"], []).append(one)
    return found


def rounded(value: float | None) -> float | None:
    """Four digits, none where a band has no end."""
    return None if value is None or not math.isfinite(value) else float(f"{float(value):.4g}")


def near(one: dict[str, Any], other: dict[str, Any]) -> bool:
    """Whether two rows would be drawn alike."""
    if {key for key in one if one[key] != other.get(key)} - {"ours", "low", "high"} or one.keys() != other.keys():
        return False
    if isinstance(one["ours"], str):
        return bool(one["ours"] == other["ours"])
    ends = [end for end in (one["low"], one["high"]) if end is not None]
    size = max(abs(one["ours"]), (ends[1] - ends[0]) if len(ends) == 2 else 0.0, 1e-9)
    pairs = [(one[key], other[key]) for key in ("ours", "low", "high")]
    return all((a is None) == (b is None) and (a is None or abs(a - b) <= STALE_SHARE * size) for a, b in pairs)


class Rows:
    """Sets ours beside what is published, and keeps it.

    Parameters
    ----------
    test : str
        Its name, as ``test_file.py::test_name[what]``.
    part : str
        Heading on the page.
    """

    def __init__(self, test: str, part: str) -> None:
        self.test, self.part = test, part
        self.made: list[dict[str, Any]] = []

    def __call__(
        self, what: str, ours: float, low: float, high: float, *, source: str = "", unit: str = "", mark: str = "published",
        published: float | None = None, met: bool = True, note: str = "",
    ) -> None:
        """One number inside its band, or outside where that is known."""
        ours, published = float(ours), None if published is None else float(published)
        self._keep(what, rounded(ours), rounded(low), rounded(high), rounded(published), unit, mark, source, met, note)
        inside = bool(low <= ours <= high)
        assert inside is met, f"{what}: {ours:.4g} {unit}, band {low:g} to {high:g}{'' if met else ' was missed, is met now'}"

    def said(
        self, what: str, ours: str, published: str, *, source: str = "", mark: str = "published", met: bool = True,
        note: str = "",
    ) -> None:
        """A finding in words."""
        self._keep(what, ours, None, None, published, "", mark, source, met, note)
        assert (ours == published) is met, f"{what}: {ours}, published {published}"

    def _keep(
        self, what: str, ours: float | str | None, low: float | None, high: float | None, published: float | str | None,
        unit: str, mark: str, source: str, met: bool, note: str,
    ) -> None:
        from graspwave.simulator.facts import MARKS, source_records

        assert mark in MARKS, f"'mark' must be one of {', '.join(MARKS)} (got {mark!r})"
        known = source in source_records() if source else mark in ("derived", "practice")
        assert known, f"'source' must be a key of sources.toml (got {source!r})"
        assert met or note, f"{what}: a known miss must say in its note why"
        self.made.append({"part": self.part, "what": what, "ours": ours, "low": low, "high": high, "published": published,
                          "unit": unit, "mark": mark, "source": source, "met": met, "note": note, "test": self.test})


def compare(made: list[dict[str, Any]], kept: list[dict[str, Any]]) -> None:
    """Fail where the page that is shipped shows other rows than the test just made."""
    told = "; python -m tests.reference.write_proof makes the page anew"
    stale = [a["what"] for a, b in zip(made, kept, strict=False) if not near(a, b)]
    assert not stale, f"apps/proof/proof.json is stale: {', '.join(stale)}{told}"
    assert len(made) == len(kept), f"apps/proof/proof.json has {len(kept)} rows of this test, which makes {len(made)}{told}"
