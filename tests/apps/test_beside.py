"""Lessons are worked out beside the server: all of them, told one by one, and no longer than it lives."""

from __future__ import annotations

import subprocess
import sys
from typing import Any

import pytest

from graspwave import lessons
from graspwave.apps.teach import beside, compiled


def test_every_lesson_is_worked_out_and_told(monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]) -> None:
    asked: list[str] = []

    def taken(slug: str) -> dict[str, Any]:
        asked.append(slug)
        if slug == "b":
            raise lessons.LessonError(())
        return {}

    monkeypatch.setattr(lessons, "names", lambda: ("a", "b", "c"))
    monkeypatch.setattr(compiled, "compiled", taken)
    monkeypatch.setattr(beside, "_WORTH_TELLING_S", -1.0)
    beside.work_out()
    assert asked == ["a", "b", "c", "before", "after", "again"]
    assert capsys.readouterr().out.splitlines() == [
        *(f"lessons worked out: {count} of 6" for count in range(1, 7)),
        "lessons that cannot be worked out: b",
    ]


def test_nothing_is_said_where_all_lies_ready(monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]) -> None:
    monkeypatch.setattr(lessons, "names", lambda: ("a",))
    monkeypatch.setattr(compiled, "compiled", lambda _: {})
    beside.work_out()
    assert capsys.readouterr().out == ""


def test_the_process_ends_with_what_began_it() -> None:
    script = ("import sys, time\nfrom graspwave.apps.teach import beside\n"
              "beside.work_out = lambda: time.sleep(60)\nbeside._main()\n")
    process = subprocess.Popen([sys.executable, "-c", script], stdin=subprocess.PIPE, stdout=subprocess.DEVNULL)
    assert process.stdin is not None
    process.stdin.close()
    assert process.wait(timeout=30) == 0
