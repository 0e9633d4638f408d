"""The page "What it was checked against": made of what the tests found, never stale, and each number found in two actions."""

from __future__ import annotations

import ast
import json
import sys
from pathlib import Path

import pytest
from axe_playwright_python.sync_playwright import Axe
from playwright.sync_api import Page, expect

from graspwave.apps.command import main
from graspwave.apps.proof.numbers import claims, effects, kind_of, limits, rows
from graspwave.apps.proof.page import proof_page
from graspwave.simulator.facts import fact, source_records

REFERENCE = Path(__file__).parents[1] / "reference"
sys.path.append(str(REFERENCE))
import record  # noqa: E402
import write_proof  # noqa: E402

TEN = (  # what a newcomer asks, the words typed, what is read beside it
    ("How long are the fibres of the finger opener?", "fibre finger opener", "hand: finger opener (EDC), fibre", "published"),
    ("How fast does a spike run along a nerve?", "speed spike", "speed of its spike: 20 um", "published"),
    ("Does a hand with short closers claw?", "short claws full", "short flexors: claws at full drive", "published"),
    ("How much strength does the arm have?", "setting strength", "setting: hand, strength", "made up for this model"),
    ("How well does fat conduct?", "tissue fat", "forearm's tissues: tissue, fat", "recalled, fairly sure"),
    ("How deep lies the nerve of the palm tightener?", "palm depth", "nerve branches: place, palm tightener (PL), depth",
     "recalled, unsure"),
    ("From what current on is a pulse felt?", "feeling felt", "feeling: reference, felt", "recalled, unsure"),
    ("How far apart must pads be?", "spacing setting", "setting: pads, spacing", "common practice"),
    ("How high is the table's shelf?", "shelf", "practice: move, shelf", "made up for this model"),
    ("How much force goes in two minutes at 20 Hz?", "lost minutes", "force lost in two minutes at 20 Hz", "recalled, unsure"),
)


def test_a_newcomer_finds_where_ten_numbers_come_from(page: Page, address: str) -> None:
    page.set_viewport_size({"width": 390, "height": 844})
    page.emulate_media(color_scheme="dark")
    page.goto(address.replace("/explore", "/proof"))
    page.locator("#find").fill("joint")  # some of every kind
    expect(page.locator("#found")).to_contain_text(" of ")
    found = Axe().run(page).response["violations"]
    assert [(v["id"], [n["target"] for n in v["nodes"]][:3]) for v in found if v["impact"] in ("serious", "critical")] == []
    assert page.evaluate("document.documentElement.scrollWidth <= window.innerWidth")
    for _, typed, what, mark in TEN:
        page.locator("#find").fill(typed)  # one
        one = page.locator("[data-kind]:visible", has=page.get_by_text(what, exact=True)).first
        expect(one.locator(".mark-of")).to_have_text(mark)
        if one.evaluate("node => node.tagName") == "DETAILS":
            one.locator("summary").click()  # two
        expect(one.locator(".cite").or_(one.locator("xpath=ancestor::div[@class='from']/p")).first).to_be_visible()
    page.locator("#find").fill("no such number")
    expect(page.locator("#found")).to_have_text("Nothing has all of these words. Leave one out.")
    expect(page.locator("[data-kind]:visible")).to_have_count(0)


def is_fixture(argument: ast.arg) -> bool:
    """Tests whose own rows are given by a table annotate them, or are no tests."""
    return argument.annotation is None or ast.unparse(argument.annotation) == "Rows"


def test_every_row_was_made_by_a_test_that_is_there() -> None:
    asks = {
        f"{file.name}::{node.name}"
        for file in REFERENCE.glob("test_*.py") for node in ast.parse(file.read_text("utf-8")).body
        if isinstance(node, ast.FunctionDef) and node.name.startswith("test_")
        and any(argument.arg == "row" and is_fixture(argument) for argument in node.args.args)
    }
    assert {row.test.split("[")[0] for row in rows()} == asks  # neither a row without its test nor a test without its rows


def test_the_page_tells_what_the_readme_says_is_lacking() -> None:
    told = write_proof.limits_of_readme((REFERENCE.parents[1] / "README.md").read_text("utf-8"))
    assert limits() == told, "apps/proof/proof.json is stale: python -m tests.reference.write_proof --limits"


def test_misses_stand_first_and_nothing_is_left_out() -> None:
    html = proof_page()
    assert 0 < html.index("Known misses") < html.index(">Nerve<")
    assert html.count('class="verdict missed"') == sum(not row.met for row in rows()) > 0
    assert html.count('class="verdict"') == sum(row.met for row in rows())
    assert html.count('<details class="claim"') == len(claims())
    for row in rows():
        assert kind_of(row.mark) in html
        assert not row.source or row.source in source_records()


def test_effects_are_of_numbers_as_they_are_now() -> None:
    assert len(effects()) > 50
    for one in effects():
        record_ = fact(one.name)
        assert record_.mark == one.mark != "published"
        assert write_proof.told(record_.value) == one.value, f"{one.name}: python -m tests.reference.write_proof --millimetres"


@pytest.mark.parametrize(("change", "stale"), [
    ({}, False), ({"ours": 1.004}, False), ({"ours": 1.2}, True), ({"high": 2.5}, True), ({"what": "other"}, True),
    ({"met": False}, True),
])
def test_a_row_that_changed_is_noticed(change: dict[str, object], stale: bool) -> None:
    one = {"part": "P", "what": "w", "ours": 1.0, "low": 0.5, "high": 2.0, "published": None, "unit": "mm", "mark": "published",
           "source": "su-2005", "met": True, "note": "", "test": "t"}
    if stale:
        with pytest.raises(AssertionError, match=r"stale: (w|other)"):
            record.compare([{**one, **change}], [one])
    else:
        record.compare([{**one, **change}], [one])
    with pytest.raises(AssertionError, match="has 2 rows of this test, which makes 1"):
        record.compare([one], [one, one])


def test_a_row_outside_its_band_fails_and_so_does_a_miss_that_is_met() -> None:
    row = record.Rows("t", "P")
    row("w", 1.0, 0.5, 2.0, source="su-2005")
    with pytest.raises(AssertionError, match=r"band 0\.5 to 2"):
        row("w", 3.0, 0.5, 2.0, source="su-2005")
    with pytest.raises(AssertionError, match="is met now"):
        row("w", 1.0, 0.5, 2.0, source="su-2005", met=False, note="why")
    with pytest.raises(AssertionError, match="must be a key"):
        row("w", 1.0, 0.5, 2.0, source="nobody-1900")
    assert json.dumps(row.made)


def test_the_file_asks_for_nothing(page: Page, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    out = tmp_path / "proof.html"
    assert main(["proof", "--out", str(out)]) == 0
    asked: list[str] = []
    page.context.set_offline(True)
    page.on("request", lambda request: asked.append(request.url))
    page.goto(out.as_uri())
    page.locator("#find").fill("claw")
    expect(page.locator("#found")).to_contain_text(" of ")
    assert [url for url in asked if not url.startswith(("file:", "data:", "blob:"))] == []
    assert len([url for url in asked if url.startswith("file:")]) == 1
    assert main(["proof", "--out", str(out)]) == 2
    assert "must be" in capsys.readouterr().err
