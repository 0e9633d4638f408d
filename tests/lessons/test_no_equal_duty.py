"""No lesson and no page compares long with short on times at one and the same share of time on.

A thesis of 1993 (17 people, seen in abstract) had 5 s on and 15 s off tire latest, 15 and 45 s first; the model keeps the same
force of all three or reverses them. What it gets wrong it does not teach: lesson 8 says so among its limits.
"""

from __future__ import annotations

import re
from itertools import combinations
from pathlib import Path

import pytest

from graspwave.apps.told import force_studies
from graspwave.simulator import Scene, presets

ROOT = Path(__file__).parents[2]
LESSONS = sorted((ROOT / "lessons").glob("[0-9][0-9]-*.md"))
PAGES = sorted(path for path in (ROOT / "apps").rglob("*") if path.suffix in {".py", ".toml", ".js", ".html"})
CALL = re.compile(r"\w+\([^()]*\)")
WORDS = re.compile(r"(equal|same|constant|fixed)\s+(duty|on[- ]share|share of time on)|duty[- ]cycle", re.IGNORECASE)
EXCUSE = "is not shown"


def cycles(text: str) -> set[tuple[float, float]]:
    """Seconds on and off of every call in a lesson that sets both."""
    found = set()
    for call in CALL.findall(text):
        on, off = (re.search(rf"\b{name}=([\d.]+)", call) for name in ("on", "off"))
        if on and off:
            found.add((float(on[1]), float(off[1])))
    return found


def rivals(pairs: set[tuple[float, float]]) -> list[tuple[tuple[float, float], tuple[float, float]]]:
    """Pairs that differ in length but not in the share of time on."""
    return [(a, b) for a, b in combinations(sorted(pairs), 2) if abs(a[0] * b[1] - b[0] * a[1]) < 0.01 * a[0] * b[1]]


@pytest.mark.parametrize("path", LESSONS, ids=lambda path: path.stem)
def test_a_lesson_runs_no_two_cycles_of_one_share(path: Path) -> None:
    text = path.read_text("utf-8")
    assert rivals(cycles(text)) == []
    assert not [line for line in text.splitlines() if WORDS.search(line) and EXCUSE not in line]


def test_no_page_words_such_a_comparison() -> None:
    assert not [path.name for path in PAGES if WORDS.search(path.read_text("utf-8"))]


def test_the_study_of_rests_changes_the_share(monkeypatch: pytest.MonkeyPatch) -> None:
    tried: set[tuple[float, float]] = set()

    def kept(scene: Scene) -> None:
        tried.add((scene.channel[0].on_total_s, scene.channel[0].timing.off_s))

    monkeypatch.setattr(force_studies, "kept", kept)
    force_studies.rests(presets()["supple"])
    assert len(tried) == len(force_studies.RATIOS)
    assert rivals(tried) == []


def test_such_a_comparison_would_be_found() -> None:
    assert rivals(cycles('short = "s(on=5, off=15)"\nlong = "s(off=45, amp=12, on=15)"')) == [((5.0, 15.0), (15.0, 45.0))]
    assert WORDS.search("at the same duty, 5:15 tires later")
    assert rivals({(5.0, 15.0), (15.0, 5.0)}) == []


def test_the_lesson_of_tiring_says_what_it_leaves_out() -> None:
    (text,) = [path.read_text("utf-8") for path in LESSONS if "tiring" in path.name]
    assert "the same share of time is cut into long or short on times is not shown" in text
