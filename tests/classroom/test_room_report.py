"""The report of a room: no persons, nothing unescaped, no formula in a cell."""

from __future__ import annotations

import csv
import io
import json
import re
from typing import Any

import pytest
from room_lesson import lesson

from graspwave.apps import notices
from graspwave.apps.classroom.report import asked, report_csv, report_html, safe_cell

LESSON = lesson()
ROOM = {"slug": "small", "opened": 1.79e9, "joined": 4}


def rows() -> list[dict[str, Any]]:
    given = [
        (1, 1, {"choice": "A"}, 2), (1, 1, {"choice": "A"}, 0), (1, 1, {"choice": "B"}, 1), (1, 1, {"choice": "C"}, None),
        (1, 2, {"choice": "B"}, 2), (1, 2, {"choice": "B"}, 2), (1, 2, {"choice": "A"}, 2),
        (3, 1, {"value": 31.0}, 1), (3, 1, {"value": 2.0}, 1), (4, 2, {"order": ["C", "A", "B"]}, None),
        (5, 1, {"x": 41.0}, None),
    ]
    return [{"step": s, "round": r, "answer": json.dumps(a), "sure": sure} for s, r, a, sure in given]


def test_answers_add_up_before_and_after_the_talk() -> None:
    first = asked(LESSON, rows())[0]
    assert first["rounds"][1]["counts"] == {"A": 2, "B": 1, "C": 1}
    assert first["rounds"][1]["n"] == 4
    assert first["rounds"][1]["right"] == 0.25
    assert first["rounds"][2]["right"] == pytest.approx(2 / 3)
    assert first["rounds"][2]["sure"]["very sure"] == {"n": 3, "right": 2}
    assert first["rounds"][1]["sure"] == {
        "guessing": {"n": 1, "right": 0}, "fairly sure": {"n": 1, "right": 1}, "very sure": {"n": 1, "right": 0}}
    assert [entry["number"] for entry in asked(LESSON, rows())] == [2, 3, 4, 5, 6]


def test_the_page_says_what_was_answered_with_the_caution_first_and_last() -> None:
    html = report_html(LESSON, ROOM, rows(), [{"step": 1, "text": "it <b>closes</b>"}])
    assert html.count(notices.caution_html()) == 2
    assert "Before the talk, n = 4" in html
    assert "B (right) <p>Choice B</p>" in html
    assert "67 %" in html
    assert "3, 2 of them right" in html
    assert "C, A, B (right)" in html
    assert "it &lt;b&gt;closes&lt;/b&gt;" in html
    assert "4 joined. No names are kept" in html
    assert "invented" in html
    assert not re.search(r"(src|href)=|url\(|@import", html)


def test_the_table_can_be_read_back_and_begins_with_the_caution() -> None:
    text = report_csv(LESSON, rows())
    lines = text.splitlines()
    assert lines[0] == f"# {notices.caution_text()}"
    assert lines[1].startswith("# People, hands and scenes are invented")
    table = list(csv.DictReader(io.StringIO("\n".join(lines[2:]))))
    one = next(r for r in table if (r["question"], r["round"], r["answer"]) == ("2", "2", "B"))
    assert (one["count"], one["n"], one["is_right"], one["share_right"], one["very_sure"]) == ("2", "3", "yes", "0.667", "3")
    assert sum(int(r["count"]) for r in table if r["question"] == "4" and r["round"] == "1") == 2


def test_an_empty_room_has_a_report_too() -> None:
    assert "n = 0" in report_html(LESSON, ROOM, [], [])
    assert len(report_csv(LESSON, []).splitlines()) > 3


@pytest.mark.parametrize("text", ["=1+1", "+1", "-1", "@x", " =1", "\t=1", "\r\n=cmd", "=HYPERLINK(1)"])
def test_no_cell_is_a_formula(text: str) -> None:
    cell = str(safe_cell(text))
    assert cell.startswith("'")
    hurt = {**LESSON, "slug": text, "steps": [{**step, "title": text} for step in LESSON["steps"]]}
    for row in csv.reader(io.StringIO(report_csv(hurt, rows()))):
        assert not any(value.strip()[:1] in ("=", "+", "-", "@") for value in row)


def test_other_cells_stay_as_they_are() -> None:
    assert [safe_cell(v) for v in (-3, 2.5, "A", "a = b", "")] == [-3, 2.5, "A", "a = b", ""]


def test_titles_are_escaped() -> None:
    hurt = {**LESSON, "title": "<script>x</script>", "steps": [{**step, "title": "<img onerror=x>"} for step in LESSON["steps"]]}
    html = report_html(hurt, ROOM, rows(), [])
    assert "<script" not in html
    assert "<img" not in html
