"""What the program stands on: licences that let it be given away, bounds where an interface may move, known weaknesses told."""

from __future__ import annotations

import json
import re
import tomllib
from importlib.metadata import Distribution
from pathlib import Path

import pytest
from licences import licence_of, stands_on, weaknesses

ROOT = Path(__file__).parents[1]
PROJECT = tomllib.loads((ROOT / "pyproject.toml").read_text("utf-8"))
FREE = re.compile(r"BSD|MIT|Apache|PSF|ISC|Zlib|MPL|Mozilla|HPND|CC0|Python Software Foundation")
"""Licences under which something may be used and passed on with the program, of whatever licence that is."""


def bounded(requirement: str) -> bool:
    """Whether a requirement names the oldest that works and what it must stay below."""
    return bool(re.search(r">=[\d.]+", requirement) and re.search(r"<\d+", requirement))


def test_all_that_it_stands_on_may_be_passed_on() -> None:
    found = {name: licence_of(package) for name, package in stands_on().items()}
    assert {"numpy", "panel", "sqlalchemy", "llvmlite"} <= set(found), "those that they stand on themselves as well"
    assert {name: said for name, said in found.items() if not FREE.search(said)} == {}


def test_another_licence_would_be_found(tmp_path: Path) -> None:
    (tmp_path / "METADATA").write_text("Metadata-Version: 2.1\nName: x\nVersion: 1\nLicense: All rights reserved\n", "utf-8")
    assert not FREE.search(licence_of(Distribution.at(tmp_path)))
    (tmp_path / "METADATA").write_text("Metadata-Version: 2.1\nName: x\nVersion: 1\n", "utf-8")
    assert licence_of(Distribution.at(tmp_path)) == "not said"


def test_what_it_stands_on_is_bounded_on_both_sides() -> None:
    needed = [*PROJECT["project"]["dependencies"], *PROJECT["project"]["optional-dependencies"]["postgres"]]
    assert [one for one in needed if not bounded(one)] == []
    assert not bounded("numpy>=1.26")
    assert not bounded("numpy<3")


def test_the_oldest_builder_that_works_is_named() -> None:
    # the licence as an expression, PEP 639, came with setuptools 77.0.0 (its list of changes, 19 March 2025: memory)
    (needed,) = PROJECT["build-system"]["requires"]
    oldest = re.fullmatch(r"setuptools>=(\d+)", needed)
    assert oldest
    assert int(oldest[1]) >= 77
    assert PROJECT["project"]["license"] == "BSD-3-Clause"


@pytest.mark.parametrize(("packages", "told"), [
    ([{"name": "a", "version": "1", "vulns": [{"id": "X-1", "fix_versions": ["1.1"]}]},
      {"name": "b", "version": "2", "vulns": []}], (["a 1: X-1, mended in 1.1"], 2, 0)),
    ([{"name": "a", "skip_reason": "not found"}], ([], 0, 1)),
])
def test_known_weaknesses_are_told(tmp_path: Path, packages: list[object], told: object) -> None:
    (tmp_path / "found.json").write_text(json.dumps({"dependencies": packages}), "utf-8")
    assert weaknesses(tmp_path / "found.json") == told
    assert weaknesses(tmp_path / "none.json") == ([], 0, 0)
