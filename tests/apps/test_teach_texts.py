"""Pages of lessons and of the live room as text, and what stands behind them, without a browser."""

from __future__ import annotations

import asyncio
import re
from collections.abc import Mapping
from pathlib import Path
from typing import Any

import pytest
from own_loop import in_own_loop
from teach_lesson import CURRENT, Lessons

from graspwave import simulator as sim
from graspwave.apps import notices
from graspwave.apps.classroom.base import numbers_by_path
from graspwave.apps.classroom.bench import Bench
from graspwave.apps.classroom.services import Settings, make_services
from graspwave.apps.look.plain import plain_page
from graspwave.apps.teach import pages
from graspwave.apps.web.source import web_files, web_text
from graspwave.lessons import LessonError, Mistake

WAY = {"host": "<b>", "on": "<i>", "url": "http://<u>", "join": "http://<u>/join?code=a-b-10", "svg": "<svg></svg>"}


def test_plain_pages_have_the_same_frame_and_caution() -> None:
    page = plain_page("teach", "A <title>", "<p>body</p>", scripts=["/a.js"], css=["/a.css"])
    assert "<h1>A &lt;title&gt;</h1>" in page
    assert notices.caution_html() in page
    assert '<a href="/teach" aria-current="page">Teach</a>' in page
    assert '<script type="module" src="/a.js"></script>' in page
    assert 'data-look="theme"' in page
    assert 'href="/explore"' not in plain_page("teach", "Room", "", bare=True)


WAY = {"host": "<b>", "on": "<i>", "url": "http://<u>", "join": "http://<u>/join?code=a-b-10", "svg": "<svg></svg>"}


def test_a_room_that_phones_cannot_reach_says_what_to_do_and_shows_no_code() -> None:
    for make in (pages.control_page, pages.wall_page):
        own, nowhere = make("a-b-10"), make("a-b-10", shared=True)
        for page in (own, nowhere):
            assert "127.0.0.1" not in page
            assert "<svg" not in page.split("<main")[1]
        assert "graspwave open --host 0.0.0.0" in own
        assert "switch on a hotspot" in nowhere
    assert "graspwave open --host 0.0.0.0" in pages.lessons_page([])
    assert "switch on a hotspot" in pages.lessons_page([], shared=True)
    assert "<option" in pages.lessons_page([], shared=True, ways=[WAY, WAY])


def test_what_people_give_is_escaped() -> None:
    row = {"slug": "a", "title": "<b>", "minutes": 5, "for": ["<i>"], "line": "<u>"}
    for page in (pages.lessons_page([row]), pages.join_page("<b>", "<i>"), pages.control_page("a-b-10", [WAY]),
                 pages.wall_page("a-b-10", [WAY, WAY]), pages.lessons_page([row], shared=True, ways=[WAY, WAY])):
        body = page[page.index('<main class="flow"'):page.index("</main>")]
        assert not re.search("<[biu]>", body)


def test_static_files_ask_nobody_and_use_known_tokens() -> None:
    for path in web_files():
        if path.endswith((".js", ".css")):
            words = web_text(path).replace("http://www.w3.org/2000/svg", "")
            assert not re.search(r"https?://[a-z0-9-]+\.[a-z]", words), path
    # the paper and ink of the picture code are fixed: cameras want it dark on light
    own = ("teach", "lesson_list", "step", "question", "person", "control", "wall", "carried_scene")
    assert all(set(re.findall(r"#[0-9A-Fa-f]{6}\b", web_text(f"web/{name}.css"))) <= {"#ffffff", "#14262c"} for name in own)
    assert "#14262c" in web_text("web/wall.css")


def test_the_list_says_which_lesson_cannot_be_worked_out() -> None:
    row = {"slug": "a", "title": "A", "minutes": 5, "for": ["all"], "line": "Name it.", "short": (2, 8)}
    page = pages.lessons_page([row, {**row, "slug": "b"}], troubles={"b": "b.md:1: 'x' must be <y>"})
    assert page.count("This lesson cannot be worked out here.") == 1
    assert "&#x27;x&#x27; must be &lt;y&gt;" in page
    assert 'href="/teach/a"' in page
    assert 'href="/teach/b"' not in page
    assert "8 min in a room, all of it 5 min; for all" in page


def test_a_lesson_that_failed_is_remembered_and_not_tried_again(tmp_path: Path) -> None:
    class Failing(Lessons):
        tried = 0

        def compiled(self, slug: str) -> Mapping[str, Any]:
            self.tried += 1
            raise LessonError((Mistake("a.md", 3, "'x' must be true (got false)", "Mend it."),))

    source = Failing()
    services = make_services(Settings(store=str(tmp_path / "rooms.db")), lessons=source)

    async def twice() -> None:
        for _ in range(2):
            with pytest.raises(LessonError, match="must be true"):
                await services.lesson(asyncio.get_running_loop(), "turned-up")

    try:
        in_own_loop(twice)
    finally:
        services.stop()
    assert source.tried == 1
    assert services.troubles == {"turned-up": "a.md:3: 'x' must be true (got false). Mend it."}


def test_a_bench_takes_a_wrist_that_is_let_free() -> None:
    asked: list[Mapping[str, float | None]] = []

    def live(scene: str, settings: dict[str, float | None]) -> Mapping[str, Any]:
        asked.append(settings)
        return {}

    wrist = {"path": "hand.wrist_held_deg", "low": -60, "high": 60, "free_words": "free"}
    table = {"scene": "", "settings": [wrist, {"path": CURRENT, "low": 0, "high": 60}]}
    assert numbers_by_path({"hand.wrist_held_deg": None, CURRENT: 5}) == {"hand.wrist_held_deg": None, CURRENT: 5.0}
    assert numbers_by_path({CURRENT: "5"}) is None
    bench = Bench(live)

    async def ask() -> None:
        loop = asyncio.get_running_loop()
        await bench.ask(loop, table, {"hand.wrist_held_deg": None, CURRENT: 5.0})
        with pytest.raises(sim.SceneError, match="must be 0 to 60"):
            await bench.ask(loop, table, {CURRENT: None})

    try:
        in_own_loop(ask)
    finally:
        bench.stop()
    assert asked == [{"hand.wrist_held_deg": None, CURRENT: 5.0}]
