"""Work beside the loop: done in a thread, shown in the page's own turn, and a late answer never takes a newer one's place."""

from __future__ import annotations

import threading
from collections.abc import Callable
from typing import Any

import panel as pn
import pytest

from graspwave.apps.desk.aside import Aside


class Page:
    """A document's queue of turns."""

    def __init__(self) -> None:
        self.turns: list[Callable[[], object]] = []
        self.came = threading.Semaphore(0)

    def add_next_tick_callback(self, turn: Callable[[], object]) -> None:
        self.turns.append(turn)
        self.came.release()

    def turn(self) -> None:
        """Wait for the next turn and take it."""
        assert self.came.acquire(timeout=20.0)
        self.turns.pop(0)()


@pytest.fixture
def page(monkeypatch: pytest.MonkeyPatch) -> Page:
    made = Page()
    monkeypatch.setattr(type(pn.state), "curdoc", property(lambda _self: made))
    return made


def test_at_once_where_there_is_no_page() -> None:
    shown: list[int] = []
    Aside(lambda a, b: a + b, shown.append)(2, 3)
    assert shown == [5]


def test_the_loop_is_not_held_and_the_newest_wins(page: Page) -> None:
    shown: list[int] = []
    done: list[tuple[int, str]] = []
    go = threading.Event()

    def work(number: int) -> int:
        assert go.wait(20.0)
        done.append((number, threading.current_thread().name))
        return number

    aside = Aside(work, shown.append)
    for number in range(5):
        aside(number)  # none of these waits
    assert not shown
    go.set()
    page.turn()  # the first has come; another was asked for meanwhile, so it is not shown
    assert not shown
    page.turn()
    assert shown == [4]
    assert [number for number, _ in done] == [0, 4]  # those between were never worked out
    assert all(name != threading.current_thread().name for _, name in done)
    aside(7)
    page.turn()
    assert shown == [4, 7]


def test_what_fails_is_raised_in_the_pages_turn_and_the_next_is_done(page: Page) -> None:
    shown: list[float] = []
    aside = Aside(lambda x: 1.0 / x, shown.append)
    aside(0.0)
    with pytest.raises(ZeroDivisionError):
        page.turn()
    aside(2.0)
    page.turn()
    assert shown == [0.5]


def test_pages_that_have_gone_are_let_be(page: Page, monkeypatch: pytest.MonkeyPatch) -> None:
    said = threading.Event()

    def gone(_turn: Any) -> None:
        said.set()
        raise RuntimeError("the document is gone")

    monkeypatch.setattr(page, "add_next_tick_callback", gone)
    Aside(lambda: 1, lambda _: pytest.fail("shown"))()
    assert said.wait(20.0)


def test_a_view_is_late_from_the_asking_until_its_own_answer_is_shown(page: Page) -> None:
    told: list[object] = []
    go = threading.Event()

    def work(number: int) -> int:
        assert go.wait(20.0)
        return number

    aside = Aside(work, told.append, lambda late: told.append("late" if late else "fresh"))
    aside(1)
    aside(2)
    assert told == ["late"]
    go.set()
    page.turn()
    assert told == ["late"], "the first answer is older than what was asked"
    page.turn()
    assert told == ["late", 2, "fresh"]
