"""What is read from afar and what is answered with a thumb: heights on the wall, one screen on a phone, question by question."""

from __future__ import annotations

import re
import subprocess
import sys
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from browser_people import DESK, People, Person
from playwright.sync_api import Browser, Page, expect
from serving import COMMAND

from graspwave.apps.classroom.preview import welcome
from graspwave.apps.classroom.room import positions
from graspwave.apps.teach.compiled import compiled
from graspwave.apps.teach.mirror import AMPLITUDE, mirror_picture
from graspwave.apps.told.live_hand import live

WALLS = ((1280, 720), (1920, 1080), (3840, 2160))
PHONES = ((360, 640), (390, 844))

# share of the wall's height: font sizes of what is seen, and how much of a column is cut off
_HEIGHTS = """() => {
  const seen = node => node.offsetParent !== null || node.getClientRects().length > 0
  const size = node => parseFloat(getComputedStyle(node).fontSize) / innerHeight
  const all = (css, own = size) => [...document.querySelectorAll(css)].filter(seen).map(own)
  const plots = [...document.querySelectorAll('.wall .gwt-lines svg')].filter(seen).flatMap(svg => {
    const scale = svg.getBoundingClientRect().height / svg.viewBox.baseVal.height
    return [...svg.querySelectorAll('text')].map(t => scale * parseFloat(t.getAttribute('font-size')) / innerHeight)
  })
  const cut = [...document.querySelectorAll('.wall .step > .told, .wall .step > .asked')].filter(seen)
    .map(column => column.scrollHeight - column.clientHeight)
  return { question: all('.wall .question'), choices: all('.wall .rows:not(.counted) .row-words > p'), plots, cut,
    pictures: document.querySelectorAll('.wall .told .picture').length }
}"""


# every place in turn, as the page around a preview tells it: letters smaller than they may be, and columns that are cut off
_EVERY_PLACE = """async told => {
  const seen = node => node.getClientRects().length > 0 && !node.closest('[hidden]')
  const size = node => parseFloat(getComputedStyle(node).fontSize) / innerHeight
  const drawn = node => size(node) * Math.hypot(node.getScreenCTM().a, node.getScreenCTM().b)
  const least = node => node.closest('.question') ? 0.05 : node.closest('.rows .row-words > p') ? 0.04 : 0.035
  const frame = () => new Promise(done => requestAnimationFrame(done))
  const app = document.getElementById('app')
  const all = css => [...document.querySelectorAll(css)].filter(node => seen(node) && node.textContent.trim())
  const faults = []
  for (const m of told) {
    const where = `${m.state.step + 1} ${m.state.phase}`
    postMessage(m, location.origin)
    const there = () => app.dataset.phase === m.state.phase && !document.querySelector('#wall-main .waiting')
      && document.querySelector('.wall-top h2')?.textContent === (m.state.mirror ? 'Watch what moves' : m.state.view.title)
    while (!there()) await frame()
    await frame()
    await frame()
    const words = all('#wall-main *').filter(node => !node.closest('svg, .vh, select')
      && [...node.childNodes].some(part => part.nodeType === 3 && part.textContent.trim()))
    if (m.state.mirror && !document.querySelector('.mirror .gwt-hand svg')) faults.push([where, 'no scene'])
    if (m.state.counts.solved && !document.querySelector('.dots-host .gwt-lines circle')) faults.push([where, 'no dots'])
    const small = [...words.map(node => [node, size(node)]), ...all('#wall-main svg text').map(node => [node, drawn(node)])]
      .filter(([node, share]) => share < least(node))
    for (const [node, share] of small) faults.push([where, node.textContent, share])
    const cut = all('#wall-main .step > .told, #wall-main .step > .asked').map(node => node.scrollHeight - node.clientHeight)
    if (cut.some(over => over > 2)) faults.push([where, 'cut off', cut])
    const beside = all('#wall-main .step :is(.told, .asked) *').filter(node => !node.closest('svg, .vh'))
      .filter(node => node.getBoundingClientRect().right > node.closest('.told, .asked').getBoundingClientRect().right + 1)
    if (beside.length) faults.push([where, 'sticks out', beside[0].className, beside[0].textContent])
    const asked = words.some(node => node.closest('.question'))
    if (m.state.view.question && !m.state.mirror && !asked) faults.push([where, 'no question'])
  }
  return faults
}"""


@pytest.fixture(scope="module")
def lesson() -> dict[str, Any]:
    return compiled("claw")


@pytest.fixture(scope="module")
def log(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """What the server says of what it is asked."""
    return tmp_path_factory.mktemp("sizes") / "log"


@pytest.fixture(scope="module")
def server(lesson: dict[str, Any], log: Path) -> Iterator[tuple[str, str]]:
    """Address and key of a server that others reach too."""
    command = [sys.executable, *COMMAND, "--host", "0.0.0.0", "--store", str(log.with_name("rooms.db"))]
    with log.open("w") as err, subprocess.Popen(
            command, stdout=subprocess.PIPE, stderr=err, text=True, cwd=Path(__file__).parents[2]) as run:
        try:
            assert run.stdout
            found = next(m for line in run.stdout if (m := re.search(r"(http://127[^/]+)/teach#key=(\S+)", line)))
            yield found[1], found[2]
        finally:
            run.terminate()


@pytest.fixture
def people(browser: Browser, page: Page) -> Iterator[People]:
    several = People(browser)
    yield several
    several.end()


def test_every_question_is_read_from_afar_and_answered_on_one_screen(
    people: People, server: tuple[str, str], lesson: dict[str, Any],
) -> None:
    control = people.one(DESK)
    http, key = server
    code = _open(control, http, key, lesson)
    storage = control.page.context.storage_state()
    walls = [people.one({"width": w, "height": h}, storage_state=storage) for w, h in WALLS]
    phones = [people.one({"width": w, "height": h}) for w, h in PHONES]
    for wall in walls:
        wall.page.goto(f"{http}/room/{code}/wall")
        # while people gather the code is a third of the height at least
        picture = wall.page.locator(".wall.begin .qr:visible")
        expect(picture).to_be_visible()
        assert picture.evaluate("node => node.getBoundingClientRect().height / innerHeight") >= 1 / 3
    for phone in phones:
        phone.page.goto(f"{http}/room/{code}")
        expect(phone.page.get_by_role("heading", name="You are in")).to_be_visible()
    asked = [step for step in lesson["steps"] if step["question"]]
    assert len(asked) > 4
    for step in asked:
        control.page.locator(f"[data-id=step-{step['number'] - 1}]").click()
        for wall in walls:
            wall.stands_at(step["number"], "vote", step["title"])
            wall.page.wait_for_function("() => !document.querySelector('.wall .waiting')")
            found = wall.page.evaluate(_HEIGHTS)
            where = (step["number"], wall.page.viewport_size, found)
            assert found["question"], where
            assert min(found["question"]) >= 0.05, where
            assert len(found["choices"]) == len(step["question"]["choices"]), where
            assert all(size >= 0.04 for size in found["choices"]), where
            assert all(size >= 0.035 for size in found["plots"]), where
            assert all(over <= 2 for over in found["cut"]), where
            hands = all(picture["kind"] == "hand" for picture in step["pictures"])
            assert found["pictures"] <= (2 if hands else 1), where
        for phone in phones:
            _one_screen(phone, step)
    assert people.faults() == []


@pytest.mark.parametrize("slug", ["claw", "pads"])
def test_every_place_of_two_lessons_is_read_from_afar_and_whole(
    browser: Browser, page: Page, server: tuple[str, str], slug: str,
) -> None:
    http, found = server[0], compiled(slug)
    told = [welcome(found, at, phase, "wall") for at, phase in positions(found)]
    told += _beside(found, told)
    for (wide, high), some in zip(WALLS, (told, told[::-9], told[-2::-9]), strict=True):
        # all sizes are shares of the height: at the larger two every ninth place is looked at
        wall = browser.new_page(viewport={"width": wide, "height": high}, reduced_motion="reduce")
        try:
            wall.goto(f"{http}/lesson/{slug}.json")  # whose pictures are at hand then
            wall.goto(f"{http}/teach/{slug}/preview/wall")
            wall.wait_for_function("() => document.fonts.status === 'loaded' && document.querySelector('.wall-top')")
            assert wall.evaluate(_EVERY_PLACE, some) == [], (wide, high)
        finally:
            wall.close()


def test_another_device_leads_by_a_link_that_no_server_sees(people: People, server: tuple[str, str], lesson: dict[str, Any],
                                                            log: Path) -> None:
    http, key = server
    control, second, fourth = (people.one(DESK) for _ in range(3))
    third = people.one({"width": 1280, "height": 720})
    code = _open(control, http, key, lesson)
    expect(control.page.get_by_role("heading", name="People gather")).to_be_visible()  # its line is there

    def link(role: str) -> str:
        control.page.get_by_role("button", name="Another device").click()
        control.page.get_by_role("button", name=role).click()
        given = control.page.get_by_label("Link that lets one device in").input_value()
        assert control.page.locator(".invited .code").inner_text().replace(" ", "-") == given.split("#")[1]
        control.page.get_by_role("button", name="Close", exact=True).click()
        return f"{http}/lead#{given.split('/lead#')[1]}"

    lead, show = link("Lead from there"), link("Show the wall there")
    second.page.goto(lead)
    second.page.wait_for_url("**/control")
    second.page.get_by_role("button", name=re.compile("^Begin: ")).click()
    expect(control.page.get_by_role("heading", name="People gather")).not_to_be_visible()
    third.page.goto(show)
    third.page.wait_for_url("**/wall")
    # called again, the code is a third of the wall's height at least
    second.page.get_by_role("button", name="Show the code").click()
    picture = third.page.locator(".wall.begin .qr:visible")
    expect(picture).to_be_visible()
    assert picture.evaluate("node => node.getBoundingClientRect().height / innerHeight") >= 1 / 3
    # a wall leads nothing, and a link lets one device in
    third.page.goto(third.page.url.replace("/wall", "/control"))
    expect(third.page.get_by_role("heading", name="This room was opened in another browser")).to_be_visible()
    third.page.goto(show)
    expect(third.page.get_by_text("or it was used, or it is older than ten minutes")).to_be_visible()
    # whoever holds the key of this machine finds the room in the list of it and leads it, without a link
    fourth.page.goto(f"{http}/teach#key={key}")
    fourth.page.get_by_role("button", name=f"Lead {code.replace('-', ' ')}").click()
    fourth.page.wait_for_url(f"**/room/{code}/control")
    expect(fourth.page.get_by_role("button", name="Another device")).to_be_visible()
    words = [one.split("#")[1] for one in (lead, show)]
    seen = [text for person in (second, third) for pair in person.asked for text in pair]
    assert len(seen) > 20
    assert [text for text in (*seen, second.page.url, log.read_text("utf-8")) if any(word in text for word in words)] == []


def _beside(found: dict[str, Any], told: list[dict[str, Any]]) -> list[dict[str, Any]]:
    """What else a wall shows: the scene of who teaches, at a question, and how people met a goal."""
    at, bench = next((at, step["bench"]) for at, step in enumerate(found["steps"]) if step["kind"] == "roam")
    here = next(one["state"] for one in told if one["state"]["step"] == at)
    settings = {"channel.0.pads.along_percent": 40.0, AMPLITUDE: 21.5}
    shown = {"settings": settings, "picture": mirror_picture(live(bench["scene"], settings), settings)}
    solved = [[12.0 + 3.0 * n, 55.0 + 4.0 * n, n % 4] for n in range(9)]
    best = {"ma": 11.5, "mm": 50.0, "changed": 1, "words": "Wrist held at, down is positive: 60°"}
    return [{**told[1], "state": {**told[1]["state"], "mirror": shown}},
            {**told[1], "state": {**here, "counts": {**here["counts"], "solved": solved}, "best": best}}]


def _open(control: Person, http: str, key: str, lesson: dict[str, Any]) -> str:
    control.page.goto(f"{http}/teach#key={key}")
    control.page.get_by_role("button", name=f"Open a room: {lesson['title']}").click()
    control.page.get_by_role("button", name="Open the room", exact=True).click()
    control.page.wait_for_url("**/control")
    return control.page.url.split("/")[-2]


def _one_screen(phone: Person, step: dict[str, Any]) -> None:
    """Question, every choice with its letter, how sure, and what sends: all in sight without scrolling."""
    page = phone.page
    expect(page.locator("form.ask .question")).to_be_visible()
    page.wait_for_function("n => document.querySelectorAll('form.ask .card .letter').length === n",
                           arg=len(step["question"]["choices"]))
    out = page.evaluate("""() => {
      const area = document.querySelector('.learner-page').getBoundingClientRect()
      const within = [...document.querySelectorAll('form.ask .question, form.ask .card, form.ask .segments')]
        .filter(node => { const r = node.getBoundingClientRect(); return r.top < area.top - 1 || r.bottom > area.bottom + 1 })
      const below = [...document.querySelectorAll('button.send, .unclear')]
        .filter(node => node.getBoundingClientRect().bottom > innerHeight)
      return [...within, ...below].map(node => node.className + ' ' + node.textContent)
    }""")
    assert out == [], (step["number"], page.viewport_size)
    assert page.locator(".learner-page").evaluate("node => node.scrollTop") == 0
