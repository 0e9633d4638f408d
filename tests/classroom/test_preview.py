"""A lesson beside its text, and on paper: what a room would show, by the very pages of a room, and one page a question."""

from __future__ import annotations

import json
import re
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from playwright.sync_api import Browser, Page, expect
from room_clients import post, run
from serving import COMMAND, served
from test_own_lessons import example

from graspwave import lessons
from graspwave.apps.classroom.own_lessons import OwnLessons
from graspwave.apps.classroom.preview import PEOPLE, welcome
from graspwave.apps.classroom.room import positions
from graspwave.apps.teach.compiled import compiled
from graspwave.lessons.steps import step_lines


@pytest.fixture(scope="module")
def own(tmp_path_factory: pytest.TempPathFactory) -> Iterator[tuple[str, Path]]:
    """Address of a server with one own lesson, and the lesson's file."""
    folder = tmp_path_factory.mktemp("own")
    file = folder / "half.md"
    file.write_text(example(), "utf-8")
    with served((*COMMAND, str(file), "--store", str(folder / "rooms.db"))) as where:
        yield where.removesuffix("/explore"), file


@pytest.mark.parametrize("slug", ["claw", "pads"])
def test_a_preview_shows_each_place_as_a_room_would(slug: str) -> None:
    lesson = compiled(slug)
    for at, phase in positions(lesson):
        step = lesson["steps"][at]
        for role in ("wall", "learner"):
            told = welcome(lesson, at, phase, role)
            state, view = told["state"], told["state"]["view"]
            assert (state["step"], state["phase"], view["title"]) == (at, phase, step["title"])
            assert state["counts"]["joined"] == PEOPLE
            # what is right and what is said to whoever leads stay back as they do in a room
            assert "say" not in view
            assert (view["answer"] is not None) == bool(step["question"] and phase == "reveal")
            if step["question"] and phase in ("bars", "reveal"):
                assert state["bars"]["n_first"] == state["bars"]["n_second"] == PEOPLE
        json.dumps(told, allow_nan=False)


@pytest.mark.parametrize("slug", lessons.names())
def test_each_step_is_found_in_the_text(slug: str) -> None:
    text = lessons.source(slug)
    titles = [text.splitlines()[line - 1] for line in step_lines(text)]
    assert titles == [f"## {step.title}" for step in lessons.load(slug).steps]


def test_headings_inside_blocks_are_no_steps() -> None:
    assert step_lines("+++\ntitle = 1\n+++\n\n## One\n\n```say\n## not one\n```\n\n## Two\n") == [5, 11]


def test_who_may_not_open_a_room_may_not_look(tmp_path: Path) -> None:
    key = "--host", "0.0.0.0"

    async def work(http: str) -> None:
        refused = await post(f"{http}/lesson/claw/preview", {})
        assert (refused.code, json.loads(refused.body)["key"]) == (403, True)
        assert b"+++" not in refused.body
        refused = await post(f"{http}/lesson/claw/file", {})
        assert (refused.code, json.loads(refused.body)["key"]) == (403, True)

    with served((*COMMAND, *key, "--store", str(tmp_path / "rooms.db"))) as where:
        run(work, where.removesuffix("/explore"))


def test_a_saved_change_and_a_mistake_are_seen_beside_the_text(page: Page, own: tuple[str, Path]) -> None:
    http, file = own
    faults: list[str] = []
    page.on("pageerror", lambda error: faults.append(str(error)))
    page.on("console", lambda said: faults.append(said.text) if said.type in ("error", "warning") else None)
    page.set_default_timeout(30_000)
    page.set_viewport_size({"width": 1440, "height": 900})
    page.goto(f"{http}/teach/my-half/preview")
    wall, phone = page.frame_locator("iframe[data-which=wall]"), page.frame_locator("iframe[data-which=phone]")
    expect(phone.get_by_role("heading", name="One pulse")).to_be_visible()
    page.get_by_role("button", name="Next", exact=True).click()
    expect(wall.get_by_text("The phase is halved at the same current.")).to_be_visible()
    expect(phone.locator("form.ask .card")).to_have_count(3)
    expect(page.locator("#notes")).to_contain_text("One minute alone, two minutes in pairs.")
    # the reason, with how the invented room answered, and no way for a phone to get in
    page.locator("input[name=phase][value=reveal]").check()
    expect(wall.locator(".rows li.right-one")).to_contain_text("It halves")
    expect(phone.get_by_text("What the model gives").first).to_be_visible()
    # a saved change is shown at the place where one was
    file.write_text(example().replace('says = "It halves"', 'says = "It falls to one half"'), "utf-8")
    expect(wall.locator(".rows li.right-one")).to_contain_text("It falls to one half")
    expect(page.locator("#mistakes")).to_contain_text("Saved just now, no mistake found.")
    expect(page.locator(".lines .new")).to_contain_text("It falls to one half")
    # a mistake stands at its line, and what was shown before stays, dimmed
    file.write_text(example().replace("ratio > 0.9", "ratoi > 0.9"), "utf-8")
    at = next(n for n, line in enumerate(file.read_text("utf-8").splitlines(), 1) if "ratoi" in line)
    expect(page.locator("#mistakes")).to_contain_text(f"Line {at}: ")
    expect(page.locator(f".lines [data-n='{at}'].bad + .wrong-here")).to_contain_text("ratoi")
    expect(page.locator(".preview.wrong .screens")).to_be_visible()
    file.write_text(example(), "utf-8")
    expect(page.locator("#mistakes")).to_contain_text("no mistake found")
    expect(wall.locator(".rows li.right-one")).to_contain_text("It halves")
    assert faults == []


@pytest.mark.parametrize(("slug", "name"), [("my-half", "half.md"), ("safety", "safety.md")])
def test_a_lesson_goes_to_a_colleague_as_one_file(
    page: Page, own: tuple[str, Path], tmp_path: Path, slug: str, name: str,
) -> None:
    http, _ = own
    page.goto(f"{http}/teach")
    row = page.locator(f"li[data-lesson={slug}]")
    with page.expect_download() as saving:
        row.get_by_role("button", name="Save as one file").click()
    assert saving.value.suggested_filename == name
    expect(row.get_by_role("status")).to_have_text(f"Saved by your browser. To open it: graspwave open {name}")
    saving.value.save_as(tmp_path / name)
    # on the colleague's machine it is listed as an own one, and gives the same lesson: pictures, benches, answers and notes
    theirs = OwnLessons([str(tmp_path / name)])
    assert theirs.names()[-1] == f"my-{name.removesuffix('.md')}"
    there = {**theirs.compiled(theirs.names()[-1]), "slug": slug}
    here = OwnLessons([str(own[1])]).compiled(slug)
    assert json.dumps(there, sort_keys=True) == json.dumps(here, sort_keys=True)
    assert any(step["bench"] for step in there["steps"])
    assert any(step["pictures"] or (step["look"] or {}).get("pictures") for step in there["steps"])


@pytest.mark.parametrize("who", ["learner", "educator"])
def test_a_handout_has_one_page_a_question(browser: Browser, own: tuple[str, Path], who: str) -> None:
    http, _ = own
    lesson: dict[str, Any] = compiled("hold-or-wait")
    asked = [step for step in lesson["steps"] if step["question"]]
    page = browser.new_page()
    try:
        page.goto(f"{http}/teach/hold-or-wait/handout?for={who}")
        expect(page.locator(".sheet.question-sheet")).to_have_count(len(asked), timeout=30_000)
        page.wait_for_function("() => !document.querySelector('.sheets .waiting')")
        sheets = page.locator(".sheet")
        # nothing is cut off, and nothing printed smaller than can be read
        page.wait_for_function("""() => [...document.querySelectorAll('.sheet')].every(s => Number(s.dataset.over) === 0
          && parseFloat(s.style.getPropertyValue('--pt')) >= 7.5)""", timeout=10_000)
        for number, step in enumerate(asked):
            text = " ".join(page.locator(".sheet.question-sheet").nth(number).text_content().split())  # type: ignore[union-attr]
            assert step["title"] in text
            assert ("Say and do" in text) == (who == "educator" and bool(step["say"]))
            # what the model gives stands on a learner's pages behind, never beside its question
            assert ("What the model gives" in text) == (who == "educator")
            assert ("Because ..." in text) == (who == "learner")
        assert all("A teaching model" in foot for foot in page.locator(".sheet .foot").all_text_contents())
        for paper in ("A4", "Letter"):
            pdf = page.pdf(format=paper)
            assert len(re.findall(rb"/Type /Page\b", pdf)) == sheets.count(), paper
    finally:
        page.close()
