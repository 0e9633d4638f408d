"""The report of a room: no persons, nothing unescaped, no formula in a cell."""

from __future__ import annotations

import csv
import io
import json
import re
from pathlib import Path
from typing import Any

import pytest
from room_lesson import lesson

from graspwave.apps import notices
from graspwave.apps.classroom.learned import asked, normalised_gain
from graspwave.apps.classroom.report import report_csv, report_html, safe_cell

LESSON = lesson()
ROOM = {"code": "plum-river-42", "slug": "small", "opened": 1.79e9, "joined": 4}


def rows() -> list[dict[str, Any]]:
    """Question 2 by hand: five people before (A very sure, A guessing, B fairly, C, B), four after; person 5 answered once only.

    Of the four who answered twice one was right before (B) and three after: B, B, A, B.
    """
    given = [
        (1, 1, 1, {"choice": "A"}, 2), (1, 1, 2, {"choice": "A"}, 0), (1, 1, 3, {"choice": "B"}, 1),
        (1, 1, 4, {"choice": "C"}, None), (1, 1, 5, {"choice": "B"}, 2),
        (1, 2, 1, {"choice": "B"}, 2), (1, 2, 2, {"choice": "B"}, 2), (1, 2, 4, {"choice": "A"}, 2),
        (1, 2, 3, {"choice": "B"}, None),
        (3, 1, 1, {"value": 31.0}, 1), (3, 1, 2, {"value": 2.0}, 1), (4, 2, 1, {"order": ["C", "A", "B"]}, None),
        (5, 1, 1, {"x": 41.0}, None),
    ]
    return [{"step": s, "round": r, "person": p, "answer": json.dumps(a), "sure": sure} for s, r, p, a, sure in given]


SAID = [{"step": 1, "text": "it <b>closes</b>"}]


def table(text: str) -> list[dict[str, str]]:
    return list(csv.DictReader(io.StringIO("".join(line for line in text.splitlines(True) if not line.startswith("#")))))


def test_votes_are_paired_by_person_and_only_asked_questions_are_told() -> None:
    first = asked(LESSON, rows())[0]
    assert first["all"] == {1: 5, 2: 4}
    assert first["twice"] == 4
    assert first["rounds"][1]["counts"] == {"A": 2, "B": 1, "C": 1}
    assert (first["rounds"][1]["n"], first["rounds"][1]["right"]) == (4, 0.25)
    assert first["rounds"][2]["counts"] == {"A": 1, "B": 3, "C": 0}
    assert first["rounds"][2]["right"] == 0.75
    assert first["pairs"] == {(True, True): 1, (False, True): 2, (False, False): 1, (True, False): 0}
    assert first["gain"] == pytest.approx((0.75 - 0.25) / (1 - 0.25))
    assert first["rounds"][2]["sure"]["very sure"] == {"n": 3, "right": 2}
    assert first["rounds"][1]["sure"] == {
        "guessing": {"n": 1, "right": 0}, "fairly sure": {"n": 1, "right": 1}, "very sure": {"n": 1, "right": 0}}
    assert [entry["number"] for entry in asked(LESSON, rows())] == [2, 4, 5, 6]


@pytest.mark.parametrize(("before", "after", "gain"), [
    # Hake 1998 (memory): <g> = (%post - %pre)/(100 - %pre); a class that goes from 44 to 72 % gains half of what it could
    (0.44, 0.72, 0.50), (0.0, 1.0, 1.0), (0.5, 0.5, 0.0), (0.5, 0.25, -0.5), (1.0, 1.0, None)])
def test_normalised_gain(before: float, after: float, gain: float | None) -> None:
    assert normalised_gain(before, after) == (None if gain is None else pytest.approx(gain))


def test_the_page_says_what_was_answered_with_the_caution_first_and_last() -> None:
    html = report_html(LESSON, ROOM, rows(), SAID)
    assert html.count(notices.caution_html()) == 2
    assert "Before the talk, n = 4" in html
    assert "B (right) <p>Choice B</p>" in html
    assert "<td>25 %</td><td>75 %</td>" in html
    assert ("Of 4 who answered twice: 2 wrong, then right, 1 right both times, 1 wrong both times; normalised gain 0.67: 67 % of "
            "what could be won was won.") in html
    assert "1 more answered once only" in html
    assert "3, 2 of them right" in html
    assert "C, A, B (right)" in html
    assert "it &lt;b&gt;closes&lt;/b&gt;" in html
    assert "plum river 42" in html
    assert "4 joined. No names are kept" in html
    assert "invented" in html
    assert not re.search(r"(src|href)=|url\(|@import", html)


def test_equal_counts_have_equal_bars_in_all_questions() -> None:
    html = report_html(LESSON, ROOM, rows(), [])
    bars = {(int(count), width) for width, count in re.findall(r'width:([\d.]+)%"></span> (\d+)', html)}
    assert len({count for count, _ in bars}) == len(bars) > 2
    assert sorted(bars) == sorted(bars, key=lambda bar: float(bar[1]))


def test_the_table_can_be_read_back_and_begins_with_the_caution() -> None:
    text = report_csv(LESSON, ROOM, rows(), SAID)
    lines = text.splitlines()
    assert lines[0] == f"# {notices.caution_text()}"
    assert lines[1].startswith("# People, hands and scenes are invented")
    read = table(text)
    one = next(r for r in read if (r["question"], r["round"], r["answer"]) == ("2", "2", "B"))
    expected = {
        "date": "2026-09-21", "lesson": "small", "code": "plum-river-42", "words": "Choice B", "count": "3", "n": "4",
        "n_all": "4",
        "is_right": "yes", "share_right": "0.750", "gain": "0.667", "very_sure": "3", "very_sure_right": "2"}
    assert {name: one[name] for name in expected} == expected
    assert sum(int(r["count"]) for r in read if r["question"] == "4" and r["round"] == "1") == 2
    assert {r["answer"]: r["count"] for r in read if r["kind"] == "pairs"} == {
        "wrong, then right": "2", "right both times": "1", "right, then wrong": "0", "wrong both times": "1"}
    assert [r["words"] for r in read if r["kind"] == "said"] == ["it <b>closes</b>"]


def test_an_empty_room_has_a_report_too() -> None:
    assert "Nothing was answered in this room." in report_html(LESSON, ROOM, [], [])
    assert len(report_csv(LESSON, ROOM, [], []).splitlines()) == 3


def test_two_classes_stand_beside_each_other(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    from graspwave.apps.command import main

    one, two, out = tmp_path / "morning.csv", tmp_path / "evening.csv", tmp_path / "both.html"
    one.write_text(report_csv(LESSON, ROOM, rows(), SAID), "utf-8")
    fewer = [row for row in rows() if row["person"] in (1, 2, 3)]
    two.write_text(report_csv(LESSON, {**ROOM, "opened": 1.8e9}, fewer, []), "utf-8")
    assert main(["compare", str(one), str(two)]) == 0
    said = capsys.readouterr().out
    assert "   morning: n 4, right before 25 %, after 75 %, normalised gain 0.67\n" in said
    assert "   evening: n 3, right before 33 %, after 100 %, normalised gain 1.00\n" in said
    assert main(["compare", str(one), str(two), "--out", str(out)]) == 0
    html = out.read_text("utf-8")
    assert html.count(notices.caution_html()) == 2
    assert "morning, n = 4" in html
    assert 'width:52%"></span> 75 %' in html
    assert not re.search(r"(src|href)=|url\(|@import", html)
    other = tmp_path / "other.csv"
    other.write_text(report_csv({**LESSON, "slug": "else"}, ROOM, rows(), []), "utf-8")
    assert main(["compare", str(one), str(other)]) == 2
    other.write_text("a,b\n1,2\n", "utf-8")
    assert main(["compare", str(one), str(other)]) == 2
    assert "'file' must be a room's table" in capsys.readouterr().err


@pytest.mark.parametrize("text", ["=1+1", "+1", "-1", "@x", " =1", "\t=1", "\r\n=cmd", "=HYPERLINK(1)"])
def test_no_cell_is_a_formula(text: str) -> None:
    cell = str(safe_cell(text))
    assert cell.startswith("'")
    hurt = {**LESSON, "slug": text, "steps": [{**step, "title": text} for step in LESSON["steps"]]}
    for row in csv.reader(io.StringIO(report_csv(hurt, ROOM, rows(), [{"step": 1, "text": text}]))):
        assert not any(value.strip()[:1] in ("=", "+", "-", "@") for value in row)


def test_other_cells_stay_as_they_are() -> None:
    assert [safe_cell(v) for v in (-3, 2.5, "A", "a = b", "")] == [-3, 2.5, "A", "a = b", ""]


def test_titles_are_escaped() -> None:
    hurt = {**LESSON, "title": "<script>x</script>", "steps": [{**step, "title": "<img onerror=x>"} for step in LESSON["steps"]]}
    html = report_html(hurt, ROOM, rows(), [])
    assert "<script" not in html
    assert "<img" not in html
