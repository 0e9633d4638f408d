"""The whole lesson of the claw in a real browser, through the command's own server: an educator, a wall, three phones.

One phone is reloaded in the middle of a question, one is cut off twice, one joins late. The answers that are right, and what was
voted, are known here from the compiled lesson and from the votes themselves; nothing of them is taken from the pages.
"""

from __future__ import annotations

import csv
import io
import re
from collections import Counter
from collections.abc import Iterator
from pathlib import Path

import pytest
from browser_people import DESK, PHONE, WALL, Cable, People, Person, cable
from kept_back import Lesson, Secrets, assert_frames_keep_it, assert_nothing_early, plain, strings
from playwright.sync_api import Browser, Download, Page, expect
from serving import COMMAND, served
from votes_given import Step, Votes, both_rounds, counted, right_of, words_of, wrong_of

from graspwave.apps import notices
from graspwave.apps.teach.compiled import compiled

WITHIN_MS = 20_000
SURE = ("a guess", "fairly", "very")
RELOADED, CUT_OFF, CUT_TOO_LONG, LATE, PAUSED = 2, 4, 5, 3, 6
"""Steps, from 0, in which something happens to somebody."""


@pytest.fixture(scope="module")
def lesson() -> Lesson:
    return compiled("claw")


@pytest.fixture
def server(lesson: Lesson, tmp_path: Path) -> Iterator[str]:
    """Address of the server, without a path; the lesson is compiled by then."""
    with served((*COMMAND, "--store", str(tmp_path / "rooms.db"))) as where:
        yield where.removesuffix("/explore")


@pytest.fixture
def line(server: str) -> Iterator[Cable]:
    """The way of one phone to the server."""
    with cable(server) as laid:
        yield laid


@pytest.fixture
def people(browser: Browser, page: Page) -> Iterator[People]:
    several = People(browser)
    yield several
    several.end()


# ---- the room ------------------------------------------------------------------------------------------------------------


def open_room(people: People, server: str, lesson: Lesson) -> tuple[Person, Person, str]:
    control = people.one(DESK, accept_downloads=True)
    control.page.goto(f"{server}/teach")
    control.page.get_by_role("button", name=f"Open a room: {lesson['title']}").click()
    control.page.get_by_role("button", name="Open the room", exact=True).click()
    control.page.wait_for_url("**/control")
    code = control.page.url.split("/")[-2]
    expect(control.page.get_by_role("heading", name="People gather")).to_be_visible()
    # a window of its own: a tab behind another is drawn once a second only
    wall = people.one(WALL, storage_state=control.page.context.storage_state())
    wall.page.goto(f"{server}/room/{code}/wall")
    expect(wall.page.locator(".wall.begin .code")).to_have_text(code.replace("-", " "))
    return control, wall, code


def rows_of(page: Page) -> dict[str, tuple[int, int]]:
    """The room's answers as a page shows them: words, before, after; rows that nobody chose are left out."""
    read = page.evaluate("""() => [...document.querySelectorAll('.rows li')].map(row => [
      [...row.querySelector('p').childNodes].filter(n => !n.classList?.contains('tick')).map(n => n.textContent).join('').trim(),
      ...[1, 2].map(turn => Number(row.querySelector(`.round-${turn} .n`)?.textContent ?? 0))])""")
    return {" ".join(words.split()): (one, two) for words, one, two in read if one or two}


def move(control: Person, key: str = "") -> None:
    """The educator goes on, by the button or by a key of the keyboard."""
    if key:
        control.page.locator("body").press(key)
    else:
        control.page.locator("[data-id=next]").click()


def test_the_whole_lesson(people: People, server: str, line: Cable, lesson: Lesson, tmp_path: Path) -> None:
    secrets, votes = Secrets(lesson), Votes()
    # each answer has something of its own to keep, or the checks below would look for nothing
    assert all(secrets.reveal[at] and secrets.look[at] for at, step in enumerate(lesson["steps"]) if step["kind"] == "ask")
    assert {step["question"]["kind"] for step in lesson["steps"] if step["question"]} == {"one", "several", "order"}

    control, wall, code = open_room(people, server, lesson)
    steady, cut_off = people.one(PHONE), people.one(PHONE)
    handles = [steady.join(server, code), cut_off.join(line.http, code)]
    expect(control.page.locator(".roster li")).to_have_count(2)
    learners = [steady, cut_off]
    names = {steady: "steady", cut_off: "cut off"}
    phases: dict[int, str] = {}
    for person in learners:
        expect(person.page.get_by_role("heading", name="You are in")).to_be_visible()
    move(control)

    def all_at(step: Step, phase: str) -> None:
        phases[step["number"] - 1] = phase
        for person in (control, wall, *learners):
            person.stands_at(step["number"], phase, step["title"])
        for person in (wall, *learners):
            assert_nothing_early(secrets, phases, person.shown(), "a page")
            if phase in ("vote", "talk", "again"):
                assert person.page.locator(".count-line").count() == 0

    def told(words: str) -> None:
        expect(control.page.locator(".people-head h3")).to_have_text(words, timeout=WITHIN_MS)

    def on_the_wall(words: str) -> None:
        expect(wall.page.locator(".people .count")).to_have_text(words, timeout=WITHIN_MS)

    def vote(step: Step, turn: int) -> None:
        """Everybody answers, one after the other, and the counts follow each."""
        at = step["number"] - 1
        for number, person in enumerate(learners):
            keys = right_of(step) if (number + at + 2 * turn) % 4 == 0 or (turn == 2 and number) else wrong_of(step, number + at)
            person.choose(step["question"], keys, SURE[(number + at) % 3] if turn == 1 else "")
            if (at, turn) == (CUT_OFF, 1) and person is cut_off:
                answered_while_cut(step, turn, keys)
            elif (at, turn) == (CUT_TOO_LONG, 2) and person is cut_off:
                continue
            else:
                person.send()
            votes.note(at, turn, names[person], keys)
            told(f"{len(votes.of(at, turn))} of {len(learners)} have answered")
            on_the_wall(f"{len(votes.of(at, turn))} of {len(learners)} answered")

    def answered_while_cut(step: Step, turn: int, keys: list[str]) -> None:
        """The cable is out: the answer waits in the phone, the room moves, and both meet when the cable is back."""
        cut_off.cut = True
        line.cut()
        expect(cut_off.page.get_by_text("No connection. Trying again; your answer waits here.")).to_be_visible()
        cut_off.page.locator("button.send").click()
        expect(cut_off.page.get_by_text("It is sent by itself when the connection is back.")).to_be_visible()
        expect(control.page.locator(".roster li.away")).to_have_count(1, timeout=WITHIN_MS)
        control.page.get_by_role("button", name="Ask for their words").click()
        move(control)
        for person in (control, wall, *(one for one in learners if one is not cut_off)):
            person.stands_at(step["number"], "talk", step["title"])
        move(control, "ArrowLeft")
        steady.stands_at(step["number"], "vote", step["title"])
        # a phone that left drops out of those who are asked, and comes back into them
        told(f"{len(votes.of(step['number'] - 1, turn))} of {len(learners) - 1} have answered")
        line.mend()
        cut_off.kept()
        cut_off.cut = False
        expect(cut_off.page.get_by_label("In your own words")).to_be_visible()
        expect(cut_off.page.get_by_text("No connection.")).not_to_be_visible()
        assert cut_off.chosen(step["question"]) == (keys if step["question"]["kind"] == "order" else sorted(keys))
        assert cut_off.page.evaluate("Object.keys(localStorage).filter(key => key.startsWith('gw-out-'))") == []
        control.page.get_by_role("button", name="Take no more words").click()
        expect(cut_off.page.get_by_label("In your own words")).not_to_be_visible()

    def answered_too_late(step: Step) -> None:
        """The vote is over before the cable is back: the answer counts nowhere, the phone is told, and shows what all see."""
        cut_off.cut = True
        line.cut()
        expect(cut_off.page.get_by_text("No connection. Trying again; your answer waits here.")).to_be_visible()
        cut_off.page.locator("button.send").click()
        for phase in ("bars", "look"):
            move(control)
            for person in (control, wall, *(one for one in learners if one is not cut_off)):
                person.stands_at(step["number"], phase, step["title"])
        line.mend()
        cut_off.stands_at(step["number"], "look", step["title"])
        expect(cut_off.page.locator(".late-note")).to_have_text("Too late: this vote is closed.", timeout=WITHIN_MS)
        first = words_of(step, votes.given[(CUT_TOO_LONG, 1)]["cut off"])
        expect(cut_off.page.locator(".own").first).to_have_text(f"You said {first}.")
        cut_off.cut = False
        move(control, "ArrowLeft")

    def reload(step: Step, turn: int) -> None:
        """The page is loaded anew in the middle of a question."""
        before = steady.handle
        steady.page.reload()
        steady.stands_at(step["number"], "vote", step["title"])
        assert steady.handle == before == handles[0]
        assert steady.chosen(step["question"]) == votes.given[(step["number"] - 1, turn)]["steady"]
        steady.kept()

    def shown_in_between(step: Step) -> None:
        """The educator's scene takes over at a question as well, and leaves everything as it was."""
        control.page.get_by_role("button", name="My scene").click()
        for person in (wall, *learners):
            expect(person.page.locator(".mirror .gwt-hand svg")).to_be_visible(timeout=WITHIN_MS)
            expect(person.page.locator(".question")).not_to_be_visible()
        control.page.get_by_role("slider", name="Pads along").last.fill("50")
        for person in (wall, *learners):
            expect(person.page.locator(".mirror .gwt-thread")).to_contain_text("pads along 50 %", timeout=WITHIN_MS)
        control.page.get_by_role("button", name="Stop showing my scene").click()
        expect(steady.page.locator(".question")).to_be_visible()
        assert steady.chosen(step["question"]) == votes.given[(step["number"] - 1, 1)]["steady"]

    def bars_agree(step: Step, person: Person) -> None:
        at = step["number"] - 1
        one, two = (counted(step, given) for given in both_rounds(votes, at))
        expected = {words: (one[words], two[words]) for words in {*one, *two}}
        person.page.wait_for_function("n => document.querySelectorAll('.rows .count-line').length >= n", arg=len(expected))
        assert rows_of(person.page) == expected

    for at, step in enumerate(lesson["steps"]):
        if at:
            move(control, "ArrowRight" if at % 3 == 0 else "")
        if step["kind"] != "ask":
            all_at(step, "show")
            apart(step, control, wall, learners)
            continue
        for phase in ("vote", "talk", "again", "bars", "look", "reveal"):
            if phase != "vote" and (at, phase) != (CUT_TOO_LONG, "bars"):
                move(control)
            if (at, phase) == (LATE, "again"):
                # somebody comes late, into the middle of it
                late_one = people.one(PHONE)
                handles.append(late_one.join(server, code))
                learners.append(late_one)
                names[late_one] = "late"
                late_one.stands_at(step["number"], "again", step["title"])
                expect(late_one.page.locator("form.ask")).to_be_visible()
                told("0 of 3 have answered")
            all_at(step, phase)
            if phase == "vote":
                vote(step, 1)
                if at == RELOADED:
                    reload(step, 1)
                    shown_in_between(step)
                if at == PAUSED:
                    control.page.get_by_role("button", name="Pause", exact=True).click()
                    for person in learners:
                        expect(person.page.get_by_role("heading", name="Pause")).to_be_visible(timeout=WITHIN_MS)
                    control.page.get_by_role("button", name="Go on", exact=True).click()
                    steady.kept()
            elif phase == "talk":
                first = votes.of(at, 1)
                share = round(100 * sum(sorted(keys) == sorted(right_of(step)) if step["question"]["kind"] != "order"
                                        else keys == right_of(step) for keys in first) / len(first))
                expect(control.page.locator("div.advice b").first).to_have_text(f"{share} % were right.", timeout=WITHIN_MS)
                expect(steady.page.locator(".talk-words")).to_be_visible()
            elif phase == "again":
                vote(step, 2)
                if at == CUT_TOO_LONG:
                    answered_too_late(step)
            elif phase == "bars":
                for person in (control, wall, *learners):
                    bars_agree(step, person)
                assert wall.page.locator(".right-one").count() == 0
            elif phase == "reveal":
                revealed(step, votes, control, wall, learners, names)
                for person in (*learners, *([] if step["question"]["kind"] == "order" else [wall])):
                    bars_agree(step, person)

    reports(control, people, lesson, votes, handles, tmp_path, code)
    # the last step itself offers the end, and the report with it
    move(control)
    dialog = control.page.get_by_role("dialog", name="End the room for all?")
    expect(dialog.get_by_role("button", name="As a page (HTML)")).to_be_visible()
    dialog.get_by_role("button", name="End the room").click()
    for person in learners:
        expect(person.page.get_by_role("heading", name="The room has ended. Thank you.")).to_be_visible(timeout=WITHIN_MS)
    assert steady.page.locator(".summary-list li").count() == sum(step["kind"] == "ask" for step in lesson["steps"])

    for person in (wall, *learners):
        assert_frames_keep_it(secrets, person)
        # what was shown to them was pushed: nobody asked for it
        assert [url for url, _ in person.asked if url.endswith(("/bench", "/mine"))] == []
    names_said = [handle for handle in handles if re.search(rf"\b{handle}\b", wall.page.locator("main").inner_text(), re.I)]
    assert names_said == []
    assert people.faults() == []


def apart(step: Step, control: Person, wall: Person, learners: list[Person]) -> None:
    """Steps that ask nothing: being done is counted, and a bench follows the educator's."""
    if step["kind"] in ("talk", "roam"):
        learners[0].page.get_by_role("button", name="I am done").click()
        expect(control.page.locator(".people-head h3")).to_have_text(f"1 of {len(learners)} are done", timeout=WITHIN_MS)
        expect(wall.page.locator(".people .count")).to_have_text(f"1 of {len(learners)} done", timeout=WITHIN_MS)
    if step["kind"] != "roam":
        return
    current = learners[1].page.get_by_role("slider", name="Current").last
    before = learners[1].page.locator(".gwt-thread").inner_text()
    current.fill("10")
    expect(learners[1].page.locator(".gwt-thread")).to_contain_text("current 10 mA", timeout=WITHIN_MS)
    assert learners[1].page.locator(".gwt-thread").inner_text() != before
    control.page.get_by_role("button", name="My scene").click()
    for person in learners:
        expect(person.page.get_by_role("heading", name="The scene of the person who teaches")).to_be_visible(timeout=WITHIN_MS)
    control.page.get_by_role("slider", name="Current").last.fill("25")
    for person in (wall, *learners):
        expect(person.page.locator(".mirror .gwt-thread")).to_contain_text("current 25 mA", timeout=WITHIN_MS)
    control.page.get_by_role("button", name="Stop showing my scene").click()
    for person in learners:
        expect(person.page.get_by_text("Yours to try")).to_be_visible(timeout=WITHIN_MS)


def revealed(step: Step, votes: Votes, control: Person, wall: Person, learners: list[Person], names: dict[Person, str]) -> None:
    """The reveal shows what the compiled lesson says, and beside it what each said last."""
    at, right = step["number"] - 1, right_of(step)
    reason = plain(step["answer"]["html"])
    for person in learners:
        page = person.page
        expect(page.locator(".beside .right-one b")).to_have_text(words_of(step, right), timeout=WITHIN_MS)
        own = votes.given.get((at, 2), {}).get(names[person]) or votes.given[(at, 1)][names[person]]
        expect(page.locator(".beside dd").first).to_contain_text(words_of(step, own))
        assert reason in person.shown()
    expect(control.page.locator("#shown p.right-one b")).to_have_text(words_of(step, right))
    assert reason in wall.shown()
    if step["question"]["kind"] == "order":
        expect(wall.page.locator("#wall-main .in-order:visible")).to_contain_text(words_of(step, right))
    else:
        marked = wall.page.locator(".rows li.right-one p:first-child").all_inner_texts()
        says = [plain(choice["html"]) for choice in step["question"]["choices"] if choice["key"] in right]
        assert [text.split(" ✓")[0].strip() for text in marked] == says


# ---- what is taken home -----------------------------------------------------------------------------------------------


def save(control: Person, words: str) -> Download:
    with control.page.expect_download() as saving:
        control.page.get_by_role("button", name=words).click()
    return saving.value


def reports(control: Person, people: People, lesson: Lesson, votes: Votes, handles: list[str], tmp_path: Path,
            code: str) -> None:
    """Both reports say what was voted, before and after, carry the caution and no made-up name."""
    control.page.get_by_role("button", name="Save answers").click()
    table, written = tmp_path / "answers.csv", tmp_path / "answers.html"
    save(control, "As a table (CSV)").save_as(table)
    save(control, "As a page (HTML)").save_as(written)
    control.page.get_by_role("button", name="Close", exact=True).click()

    text = table.read_text("utf-8")
    assert text.startswith(f"# {notices.caution_text()}\n")
    read = list(csv.DictReader(io.StringIO("".join(row for row in text.splitlines(True) if not row.startswith("#")))))
    page = people.one(DESK).page
    page.goto(written.as_uri())
    assert page.locator(".caution").count() == 2
    assert notices.caution_text() in " ".join(page.locator(".caution").first.inner_text().split())
    # equal counts have equal bars, in every question and before as after
    drawn = page.evaluate("""() => [...document.querySelectorAll('td:has(> .bar)')].map(cell =>
      [Number(cell.textContent), cell.querySelector('.bar').getBoundingClientRect().width])""")
    per_person = {round(wide / count, 2) for count, wide in drawn if count}
    assert max(per_person) - min(per_person) < 0.02 * max(per_person)
    assert all(wide == 0 for count, wide in drawn if not count)
    sections = page.locator("section")
    asks = [(at, step) for at, step in enumerate(lesson["steps"]) if step["question"]]
    assert sections.count() == len(asks)
    for section, (at, step) in zip(sections.all(), asks, strict=True):
        order = step["question"]["kind"] == "order"
        right = {",".join(right_of(step))} if order else set(right_of(step))
        for turn in (1, 2):
            given = both_rounds(votes, at)[turn - 1]
            counts = Counter(",".join(keys) for keys in given) if order else Counter(key for keys in given for key in keys)
            rows = [row for row in read
                    if (row["kind"], row["question"], row["round"]) == ("answer", str(step["number"]), str(turn))]
            assert {row["answer"].replace(", ", ","): int(row["count"]) for row in rows if row["count"] != "0"} == dict(counts)
            assert {row["answer"].replace(", ", ",") for row in rows if row["is_right"] == "yes"} <= right
            assert {int(row["n"]) for row in rows} == {len(given)}
            assert {int(row["n_all"]) for row in rows} == {len(votes.of(at, turn))}
            assert {row["code"] for row in rows} == {code}
            was = sum(keys == right_of(step) if order else sorted(keys) == sorted(right_of(step)) for keys in given)
            assert float(rows[0]["share_right"]) == pytest.approx(was / len(given), abs=1e-3)
            table_ = section.locator("table").first
            assert f"n = {len(given)}" in table_.locator("thead th").nth(turn).inner_text()
            assert table_.locator("tr.sum td").nth(turn - 1).inner_text() == f"{100 * was / len(given):.0f} %"
            shown = {row.locator("th").inner_text(): int(row.locator("td").nth(turn - 1).inner_text())
                     for row in table_.locator("tbody tr:not(.sum)").all()}
            assert sorted(count for count in shown.values() if count) == sorted(counts.values())
            assert all(words.split(" (right)")[0].split()[0].strip(",") for words in shown)
    public = [plain(text) for step in lesson["steps"] for text in strings([step["title"], step["question"]])]
    for left in (" ".join(page.locator("body").inner_text().split()), text):
        for known in sorted(public, key=len, reverse=True):
            left = left.replace(known, "") if known else left
        assert [handle for handle in handles if re.search(rf"\b{handle}\b", left, re.I)] == []
