"""Lessons that are carried away: one file from the disk with the network cut, and a package in a course's player."""

from __future__ import annotations

import io
import json
import math
import random
import zipfile
from collections.abc import Iterator
from importlib.resources import files
from pathlib import Path
from typing import Any

import pytest
from axe_playwright_python.sync_playwright import Axe
from lxml import etree
from playwright.sync_api import Browser, Page, expect
from teach_lesson import LESSON

from graspwave import simulator as sim
from graspwave.apps import notices
from graspwave.apps.carry.export import index_page
from graspwave.apps.carry.lesson import MOST_BYTES, bench_values, lesson_file
from graspwave.apps.carry.packed import packed
from graspwave.apps.carry.scene import pinned
from graspwave.apps.carry.scorm import manifest, scorm_package
from graspwave.apps.command import main
from graspwave.apps.files.one_file import as_data, modules_inside
from graspwave.apps.teach.compiled import compiled
from graspwave.apps.told.live_hand import AMPLITUDE, live


@pytest.fixture(scope="module")
def claw() -> dict[str, Any]:
    return compiled("claw")


@pytest.fixture(scope="module")
def carried_claw(claw: dict[str, Any], tmp_path_factory: pytest.TempPathFactory) -> Path:
    file = tmp_path_factory.mktemp("carried") / "claw.html"
    file.write_text(lesson_file(claw), "utf-8")
    return file


@pytest.fixture
def alone(browser: Browser, request: pytest.FixtureRequest) -> Iterator[Page]:
    """A page without network; it must ask for nothing and end without an error of its own."""
    request.getfixturevalue("page")  # so that these tests are skipped where no browser is
    context = browser.new_context(viewport={"width": 1280, "height": 720}, reduced_motion="reduce", offline=True)
    page, asked, errors = context.new_page(), [], []
    page.on("request", lambda one: asked.append(one.url))
    page.on("pageerror", lambda error: errors.append(str(error)))
    page.on("console", lambda said: errors.append(said.text) if said.type == "error" else None)
    yield page
    files = [url for url in asked if not url.startswith(("data:", "blob:"))]
    assert [url for url in files if not url.startswith("file:") or not url.endswith(".html")] == []
    assert errors == []
    context.close()


# ---- the claw lesson from the disk -----------------------------------------------------------------------------------

PICTURES = """() => {
  const { lesson, benchOf } = graspwaveCarried, jobs = []
  lesson.steps.forEach((data, step) => (data.bench?.settings ?? []).forEach(s => {
    const values = []
    if (s.choices) values.push(...s.choices.map(([value]) => value))
    else {
      // as a slider of this browser counts
      const slider = Object.assign(document.createElement('input'), { type: 'range', min: s.low, max: s.high, step: s.step })
      slider.value = s.low
      for (let last = null; last !== slider.value; slider.stepUp()) { last = slider.value; values.push(Number(last)) }
      if (s.free_words) values.push(null)
    }
    jobs.push(...values.map(async value => [step, s.path, value, await benchOf({ step, settings: { [s.path]: value } })]))
  }))
  return Promise.all(jobs).then(JSON.stringify) // as text: far quicker through the line to the test
}"""


def test_every_picture_of_the_file_is_the_servers(alone: Page, carried_claw: Path, claw: dict[str, Any]) -> None:
    alone.goto(carried_claw.as_uri())
    alone.wait_for_function("() => globalThis.graspwaveCarried")  # its modules have run
    found, asked = json.loads(alone.evaluate(PICTURES)), set()
    for step, path, value, picture in found:
        bench = claw["steps"][step]["bench"]
        # the current is moved along one picture, in whose own steps it was worked out
        settings = {} if path == AMPLITUDE else {path: value}
        assert picture == json.loads(json.dumps(live(bench["scene"], settings))), (step, path, value)
        asked.add((step, path, value))
    wanted = {
        (at, setting["path"], value) for at, step in enumerate(claw["steps"]) if step["bench"]
        for setting in step["bench"]["settings"] for value in bench_values(setting)
    }
    assert asked == wanted
    assert len(wanted) > 200


def test_the_claw_lesson_from_the_disk(alone: Page, carried_claw: Path, claw: dict[str, Any]) -> None:
    page, on = alone, alone.locator(".alone-bar [data-id=next]")
    page.goto(carried_claw.as_uri())
    expect(page.locator("footer.caution")).to_contain_text(notices.CAUTION_FIRST)
    on.click()
    voted = benches = 0
    for number, step in enumerate(claw["steps"], 1):
        expect(page.locator(".where")).to_have_text(f"Step {number} of {len(claw['steps'])}")
        if step["question"] and step["question"]["choices"] and not voted:
            voted += 1
            vote_twice(page)
        elif step["question"]:
            on.click()  # skips the guess
        if step["bench"]:
            benches += 1
            try_bench(page, step["bench"])
        on.click()
    assert (voted, benches) == (1, sum(bool(step["bench"]) for step in claw["steps"]))
    expect(page.locator(".where")).to_have_text("Summary")
    expect(page.locator(".summary-list")).to_contain_text("You said first ")
    expect(page.locator(".glossary dt").first).to_be_visible()
    assert page.locator(".glossary dt").count() == len(claw["glossary"])
    assert page.get_by_role("link", name="To the lessons").count() == 0
    found = Axe().run(page).response["violations"]
    assert [(v["id"], [n["target"] for n in v["nodes"]][:3]) for v in found if v["impact"] in ("serious", "critical")] == []
    page.reload()  # where one was is where one comes back to
    expect(page.locator(".where")).to_have_text("Summary")


def vote_twice(page: Page) -> None:
    """A guess, a look, another guess, and what the model gives."""
    choices, send = page.locator(".part-form input[type=radio][name^=choice], .part-form .choices input"), "That is my guess"
    choices.first.check(force=True)
    page.get_by_role("button", name=send).click()
    page.get_by_role("button", name="Guess again").click()
    expect(page.get_by_text("First you said ")).to_be_visible()
    choices.nth(1).check(force=True)
    page.get_by_role("button", name=send).click()
    expect(page.get_by_role("heading", name="What the model gives")).to_be_visible()


def try_bench(page: Page, bench: dict[str, Any]) -> None:
    """Every slider is moved by a step: the hand follows, nothing is said to be wrong, and one moves at a time."""
    thread, others = page.locator(".gwt-thread"), [s for s in bench["settings"] if s["path"] != AMPLITUDE]
    for setting in others:
        slider = page.get_by_label(setting["label"], exact=True)
        if slider.is_disabled():
            page.locator(".gwt-tick input").first.check()
        slider.press("End")
        slider.press("Home")
        expect(page.locator(".gwt-bench")).not_to_have_attribute("aria-busy", "true")
        at_end = json.loads(json.dumps(live(bench["scene"], {setting["path"]: bench_values(setting)[0]})))
        shown = at_end["opening_mm"][at_end["amplitude_ma"].index(at_end["at_ma"])]
        expect(thread).to_contain_text("opening none" if shown < 3 else f"opening {math.floor(shown + 0.5)} mm")
    expect(page.locator(".gwt-trouble")).to_have_text("")
    page.get_by_role("button", name="Back to the start").click()


# ---- a scene -----------------------------------------------------------------------------------------------------------

def test_a_scene_from_the_disk(alone: Page, tmp_path: Path) -> None:
    scene, file = sim.presets()["tight"], tmp_path / "tight.html"
    pin = "hand.flexor_length_factor=1.0"
    assert main(["export", "tight", "--out", str(file), "--pin", pin]) == 0
    alone.goto(file.as_uri())
    alone.wait_for_function("() => globalThis.graspwaveScene")
    changes = pinned(scene, [pin])
    shown = json.loads(alone.evaluate("JSON.stringify(graspwaveScene.views.map(({name, live}) => [name, live]))"))
    for (name, seen), changed in zip(shown, [scene, *(changed for _, changed in changes)], strict=True):
        assert seen == json.loads(json.dumps(live(changed.dumps(), {}))), name
    slider, choose = alone.get_by_label("Current", exact=True), alone.get_by_label("With", exact=True)
    expect(alone.get_by_role("heading", name="Why the hand stands as it does")).to_be_visible()
    slider.press("Home")
    expect(alone.locator(".gwt-thread")).to_contain_text("current 0 mA")
    for _ in range(20):
        slider.press("ArrowRight")
    choose.select_option(label="Length of closers: 1 of usual")
    at = scene.replace(AMPLITUDE, 10.0)
    found = sim.explain_opening(at, at.replace("hand.flexor_length_factor", 1.0))
    expect(alone.locator(".gwt-rows .total b").first).to_have_text(f"{found.before_mm:.0f} mm")
    expect(alone.locator(".gwt-rows .total b").last).to_have_text(f"{found.after_mm:.0f} mm")
    expect(alone.locator("figure .gwt-caption")).to_have_text(found.text)
    expect(alone.locator(".gwt-thread")).to_contain_text(f"opening {found.after_mm:.0f} mm")


def test_changes_that_a_scene_is_set_beside() -> None:
    fitting = [name for name, _ in pinned(sim.presets()["tight"])]
    assert fitting == ["Wrist held straight", "Length of closers: 1 of usual", "Phase duration: 150 µs"]
    scene = sim.presets()["supple"]
    given = pinned(scene, ["hand.wrist_held_deg=-20", "channel.0.pads.swap=true", "channel.0.pulse.shape=monophasic"])
    assert [name for name, _ in given] == ["Wrist held 20° back", "Leads: swapped", "Pulse shape: one way"]
    assert pinned(scene.replace("hand.wrist_held_deg", 0.0))[0][0] == "Wrist let free"
    for pins, told in ((["a"], "'pin' must be setting=value"), (["hand.fat_mm=3"] * 4, "'pin' must be at most 3 changes"),
                       (["hand.nothing=3"], "'hand.nothing' must be"), (["hand.fat_mm=thick"], "'hand.fat_mm' must be"),
                       ([f"hand.flexor_length_factor={scene.hand.flexor_length_factor}"], "'pin' must be a change")):
        with pytest.raises(sim.SceneError) as wrong:
            pinned(scene, pins)
        assert told in str(wrong.value)


# ---- what a file is made of ------------------------------------------------------------------------------------------

def test_a_text_that_would_end_the_script_stays_a_text(alone: Page, tmp_path: Path) -> None:
    evil = "</script><script>document.title='broken out'</script><!--"
    lesson = json.loads(json.dumps(LESSON).replace("A tight hand, turned up", json.dumps(evil)[1:-1]))
    file = tmp_path / "evil.html"
    file.write_text(lesson_file(lesson), "utf-8")
    alone.goto(file.as_uri())
    expect(alone.get_by_role("heading", level=2)).to_have_text(evil)
    assert alone.title() == f"{evil} - Graspwave"
    assert "<" not in as_data({"a": evil}).replace("\\u003c", "")


def test_numbers_are_packed_without_loss() -> None:
    rng = random.Random(1)
    value = {
        "plain": [round(rng.uniform(-60, 60), 1) for _ in range(121)],
        "deep": [[[round(rng.uniform(-9, 9), 3)] * 2] * 2 for _ in range(20)],
        "short": [0.1, 0.2], "words": ["a"] * 20, "ragged": [[1.0], [1.0, 2.0]] * 8, "far": [10**9 + i for i in range(12)],
        "fine": [rng.random() for _ in range(20)], "mixed": [1.0, None] * 10, "yes": [True] * 20, "none": None,
    }
    small = packed(value)
    assert {key for key, of in small.items() if isinstance(of, dict)} == {"plain", "deep", "far"}
    assert small["short"] == value["short"]
    assert small["fine"] == value["fine"]


@pytest.mark.parametrize(("text", "wrong"), [
    ("const a = import('./b.js')\n", "import("), ("  import { a } from './b.js'\n", "import { a }"),
    ("import b from \"./b.js\"\n", "import b"),
])
def test_a_module_whose_imports_lead_nowhere_is_refused(text: str, wrong: str) -> None:
    with pytest.raises(ValueError, match=r"'a\.js' must import by name at the start of a line") as told:
        modules_inside("a.js", {"a.js": text, "b.js": ""})
    assert wrong in str(told.value)


def test_modules_that_ask_for_each_other_are_refused() -> None:
    ring = {"a.js": "import { b } from './b.js'\n", "b.js": "import { a } from './a.js'\n"}
    with pytest.raises(ValueError, match=r"a\.js -> b\.js -> a\.js"):
        modules_inside("a.js", ring)


def test_a_folder_of_lessons_has_a_list_that_leads_to_each(alone: Page, claw: dict[str, Any], tmp_path: Path) -> None:
    (tmp_path / "index.html").write_text(index_page([(claw, 1_400_000)]), "utf-8")
    small = {**LESSON, "slug": "claw", "title": "Back and forth"}
    (tmp_path / "claw.html").write_text(lesson_file(small, home="index.html"), "utf-8")
    alone.goto((tmp_path / "index.html").as_uri())
    expect(alone.locator(".lesson-list .note")).to_contain_text("1.4 MB")
    alone.get_by_role("link", name=claw["title"]).click()
    on = alone.locator(".alone-bar [data-id=next]")
    for _ in range(60):
        if alone.locator(".where").inner_text() == "Summary":
            break
        on.click()
    alone.get_by_role("link", name="To the lessons").first.click()
    expect(alone.locator(".lesson-list")).to_be_visible()


def test_bad_input_is_told_and_leaves_nothing(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    out = str(tmp_path / "a.html")
    for given, told in (
        (["claw"], "'out' must be a file to write (got 'none')"),
        (["claw", "--out", "a.txt"], "'out' must be a file that ends in .html"),
        (["clew", "--out", out], "'what' must be a lesson's or scene's file, or one of safety,"),
        (["tight", "--scorm", "a.zip"], "'scorm' must be given with a lesson"),
        (["claw", "--out", out, "--pin", "hand.fat_mm=3"], "'pin' must be given with a scene"),
        ([], "'what' must be one lesson or scene, or --all with a folder"),
    ):
        assert main(["export", *given]) == 2
        assert told in capsys.readouterr().err
    assert list(tmp_path.iterdir()) == []


# ---- in a course's player --------------------------------------------------------------------------------------------

SCHEMA = etree.XMLSchema(etree.parse(str(files("graspwave.apps.carry") / "scorm" / "adlcp_rootv1p2.xsd")))


def fits(text: str) -> bool:
    """Whether a manifest is one by the schemas that ADL and IMS published for SCORM 1.2."""
    return bool(SCHEMA.validate(etree.fromstring(text.encode())))


def test_the_manifest_fits_the_published_schema() -> None:
    whole = manifest("claw", "Why <turning it up> claws & shuts " * 9)
    assert fits(whole), SCHEMA.error_log
    for change in (("<resources>", "<resource>"), ('type="webcontent"', ""), ('="sco"', '="page"'),
                   ("<schema>ADL SCORM</schema>", "<scheme>ADL SCORM</scheme>"), ('identifier="course"', 'identifier="1 c"')):
        assert change[0] in whole
        broken = whole.replace(*change).replace("</resources>", "</resource>" if "<resource>" in change else "</resources>")
        assert not fits(broken), change


PLAYER = """<!doctype html><title>Player</title><iframe src="index.html" style="width:1200px;height:650px"></iframe><script>
// What the run-time environment of SCORM 1.2 (3.4) lets a lesson set, with the vocabulary and form of each value.
const NUMBER = /^(\\d{1,2}(\\.\\d+)?|100)$/, FORMS = {
  'cmi.core.lesson_status': /^(passed|completed|failed|incomplete|browsed)$/, 'cmi.core.lesson_location': /^.{0,255}$/,
  'cmi.core.score.raw': NUMBER, 'cmi.core.score.min': NUMBER, 'cmi.core.score.max': NUMBER,
  'cmi.core.session_time': /^\\d{2,4}:\\d{2}:\\d{2}(\\.\\d{1,2})?$/, 'cmi.core.exit': /^(time-out|suspend|logout|)$/,
}
window.held = { 'cmi.core.lesson_status': 'not attempted' }
window.log = []
window.wrong = []
let state = 'before'
const must = (yes, what) => { if (!yes) wrong.push(what) }
window.API = {
  LMSInitialize: text => { must(state === 'before' && text === '', 'initialize'); state = 'running'; return 'true' },
  LMSGetValue: name => { must(state === 'running' && name in FORMS, `get ${name}`); return held[name] ?? '' },
  LMSSetValue: (name, value) => {
    must(state === 'running' && typeof value === 'string' && FORMS[name]?.test(value), `set ${name} ${value}`)
    held[name] = value; log.push([name, value]); return 'true'
  },
  LMSCommit: text => { must(state === 'running' && text === '', 'commit'); return 'true' },
  LMSFinish: text => { must(state === 'running' && text === '', 'finish'); state = 'after'; return 'true' },
  LMSGetLastError: () => '0', LMSGetErrorString: () => '', LMSGetDiagnostic: () => '',
}
window.ended = () => state === 'after'
</script>"""


def test_a_players_course_hears_begun_done_and_the_share_right(page: Page, tmp_path: Path) -> None:
    with zipfile.ZipFile(io.BytesIO(scorm_package(LESSON))) as package:
        schemas = {"adlcp_rootv1p2.xsd", "imscp_rootv1p1p2.xsd", "ims_xml.xsd"}
        assert {"imsmanifest.xml", "index.html", *schemas} == set(package.namelist())
        assert fits(package.read("imsmanifest.xml").decode())
        package.extractall(tmp_path)
    (tmp_path / "player.html").write_text(PLAYER, "utf-8")
    page.context.route("http://player.test/**", lambda route: route.fulfill(
        body=(tmp_path / route.request.url.rsplit("/", 1)[-1]).read_bytes(), content_type="text/html; charset=utf-8"))
    page.goto("http://player.test/player.html")
    lesson, on = page.frame_locator("iframe"), page.frame_locator("iframe").locator(".alone-bar [data-id=next]")
    expect(on).to_have_text("Begin")
    assert page.evaluate("held['cmi.core.lesson_status']") == "incomplete"
    on.click()
    on.click()
    lesson.get_by_role("radio", name="It gets smaller").check(force=True)
    lesson.get_by_role("button", name="That is my guess").click()
    asked = sum(bool(step["question"] and step["answer"]) for step in LESSON["steps"])
    assert page.evaluate("held['cmi.core.score.raw']") == str(round(100 / asked))
    for _ in range(60):
        if page.evaluate("held['cmi.core.lesson_status']") == "completed":
            break
        on.click()
    assert page.evaluate("held['cmi.core.lesson_status']") == "completed"
    page.evaluate("document.querySelector('iframe').remove()")
    page.wait_for_function("ended()")
    assert page.evaluate("wrong") == []
    assert page.evaluate("held['cmi.core.exit']") == ""
    assert page.evaluate("held['cmi.core.session_time']").startswith("0000:00:")


def test_a_lesson_larger_than_allowed_is_refused() -> None:
    with pytest.raises(ValueError, match=r"'turned-up' must be at most 5 MB"):
        lesson_file({**LESSON, "prior": "x" * MOST_BYTES})
