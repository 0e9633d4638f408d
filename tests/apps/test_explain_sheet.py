"""The page to take home: what must and must not be on it, and how it comes out of a printer."""

from __future__ import annotations

import datetime
import re
from html import unescape
from pathlib import Path

import pytest
from playwright.sync_api import Page

from graspwave import simulator as sim
from graspwave.apps import notices
from graspwave.apps.command import main
from graspwave.apps.files import print as printing
from graspwave.apps.files.sheet import PAPERS, sheet_html, sheet_text
from graspwave.apps.told.account import told
from graspwave.apps.told.words import LANGUAGES, asked_words, label, say

SCENE = sim.presets()["tight"]
DAY = datetime.date(2026, 11, 25)
MM = 96 / 25.4


def over(scene: sim.Scene) -> sim.Scene:
    """A scene past as many limits, and as far outside the model, as one can be."""
    for path, value in (
        ("pulse.amplitude_ma", 60.0), ("pulse.shape", "monophasic"), ("pads.size_cm2", 2.0), ("pads.spacing_mm", 8.0),
        ("pads.contact", "lifted"), ("timing.off_s", 0.0),
    ):
        scene = scene.replace(f"channel.0.{path}", value)
    return scene.without("spread")


def seen_text(html: str) -> str:
    """What a reader sees: words outside scripts, styles and tags."""
    body = re.sub(r"<(script|style).*?</\1>", " ", html, flags=re.DOTALL)
    return re.sub(r"\s+", " ", unescape(re.sub(r"<[^>]+>", " ", body)))


def gives_a_current(text: str, scene: sim.Scene) -> bool:
    """Whether a text names milliamperes, or the number of the scene's current."""
    amplitude = f"{scene.channel[0].pulse.amplitude_ma:g}"
    unit = re.search(r"\bmA\b|[Mm]illiamp|µC|\bHz\b", text)
    return bool(unit or re.search(rf"(?<![\d.]){re.escape(amplitude)}(?!\d|\.\d)", text))


@pytest.mark.parametrize("language", list(LANGUAGES))
@pytest.mark.parametrize("large", [False, True])
def test_the_current_is_a_blank(language: str, large: bool) -> None:
    scene = SCENE.replace("channel.0.pulse.amplitude_ma", 17.5).replace("title", "Ms Example, 17.5 mA")
    for given in (scene, over(SCENE).replace("channel.0.pulse.amplitude_ma", 59.5)):
        html = sheet_html(given, language=language, large=large, today=DAY)
        assert not gives_a_current(seen_text(html), given)
        assert "Ms Example" not in html
        assert html.count('class="blank"') == 13


def test_a_printed_current_would_be_found() -> None:
    assert gives_a_current("Turn it up to 17.5.", SCENE.replace("channel.0.pulse.amplitude_ma", 17.5))
    assert gives_a_current("Turn it up to 20 mA.", SCENE)


@pytest.mark.parametrize("language", list(LANGUAGES))
def test_steps_cautions_and_blanks_are_there(language: str) -> None:
    html = sheet_html(SCENE, language=language, today=DAY)
    text = seen_text(html)
    for part, lines in sheet_text(SCENE, language).items():
        for line in lines:
            assert line in text, part
    # in order: pads, lead and zero, up slowly and no further, off
    wanted = [say(language, key) for key in ("sheet_pads", "sheet_lead", "sheet_zero", "sheet_up", "sheet_no_more", "sheet_end")]
    places = [text.index(line) for line in wanted]
    assert places == sorted(places)
    assert notices.PLAIN[language].first in text
    assert f'<html lang="{language}"' in html
    assert ("25 November 2026" in text) == (language == "en")


@pytest.mark.parametrize("language", list(LANGUAGES))
@pytest.mark.parametrize("large", [False, True])
def test_first_page_says_when_to_stop_second_is_to_be_written_on(language: str, large: bool) -> None:
    first, second, *more = sheet_html(SCENE, language=language, large=large, today=DAY).split('<section class="page">')[1:]

    def has(page: str, *keys: str) -> bool:
        return all(label(language, key) in unescape(page) for key in keys)

    assert has(first, "stop", "name", "which", "left", "right")
    assert has(second, "tried", "from", "on_days", "start_at", "stop_at", "mark", "break_after", "skin_before", "skin_after",
               "pain", "review", "phone", "therapist_name", "week", "skin_ok_before", "skin_ok_after")
    assert second.count("<td class=\"tick\">") == 14
    assert re.findall(r"<i></i>(\d+)</span>", second) == [str(n) for n in range(11)]
    text = seen_text("".join((first, second, *more)))
    for question, answer in asked_words(language).values():
        assert question in text
        assert all(line in text for line in answer)
    assert any("pregnant" in line or "schwanger" in line for line in sheet_text(SCENE, language)["safe"])
    assert not re.search(r"\bcord\b|model hand|Hand im Modell|juckt|Ein Mal", text)


@pytest.mark.parametrize("language", list(LANGUAGES))
@pytest.mark.parametrize(
    ("path", "value", "key"),
    [
        ("channel.0.pads.spacing_mm", 10.0, "limit_spacing"), ("channel.0.pulse.shape", "monophasic", "limit_one_way"),
        ("channel.0.pads.limb", "upper arm", "outside_limb"), ("channel.0.pads.contact", "halved", "outside_contact"),
        ("channel.0.pulse.amplitude_ma", 0.0, "outside_shut"), ("channel.0.timing.off_s", 0.0, "outside_tired"),
    ],
)
def test_no_sheet_past_a_limit_without_its_notice(language: str, path: str, value: object, key: str) -> None:
    text = seen_text(sheet_html(SCENE.replace(path, value), language=language, today=DAY))
    assert say(language, key) in text
    assert say(language, "notice_ask") in text


def test_every_limit_passed_is_told() -> None:
    scene = over(SCENE)
    passed = [n for n in sim.dose_of(scene).notices if n.kind == "over"]
    assert passed
    assert told(scene).limits
    assert "other" not in told(scene).limits
    assert not told(SCENE).noticed
    assert say("en", "notice_ask") not in seen_text(sheet_html(SCENE, today=DAY))


def test_it_asks_for_nothing_from_outside(tmp_path: Path, page: Page) -> None:
    file = tmp_path / "sheet.html"
    file.write_text(sheet_html(SCENE, today=DAY), "utf-8")
    asked: list[str] = []
    errors: list[str] = []
    page.on("request", lambda request: asked.append(request.url))
    page.on("pageerror", lambda error: errors.append(str(error)))
    page.goto(file.as_uri())
    page.locator("html[data-drawn]").wait_for(state="attached")
    assert page.locator("[data-picture] svg[role=img]").count() == 3
    assert [url for url in asked if not url.startswith(("file:", "data:", "blob:"))] == []
    assert errors == []


CASES = [(paper, language, large) for paper in PAPERS for language in LANGUAGES for large in (False, True)]


@pytest.mark.parametrize("name", ["plain", "over", "held"])
def test_nothing_is_cut_on_paper(name: str, page: Page) -> None:
    scene = {"plain": SCENE, "over": over(SCENE), "held": SCENE.replace("channel.0.timing.control", "held")}[name]
    page.emulate_media(media="print")
    for paper, language, large in CASES:
        _, width, height = PAPERS[paper]
        page.goto("about:blank")
        page.set_viewport_size({"width": round((width - 22) * MM), "height": round((height - 22) * MM)})
        page.set_content(sheet_html(scene, language=language, paper=paper, large=large, today=DAY))
        page.locator("html[data-drawn]").wait_for(state="attached")
        # more than 3 px would reach into the margin; words of a notice may shrink, those of a plain sheet hardly
        for over_px, wide_px, size_pt in page.evaluate(
            "[...document.querySelectorAll('.page')].map(p => [p.scrollHeight - p.clientHeight, p.scrollWidth - p.clientWidth, "
            "parseFloat(getComputedStyle(p).fontSize) * 0.75])"
        ):
            assert over_px <= 3, (paper, language, large)
            assert wide_px <= 1, (paper, language, large)
            least = (13.0 if name == "over" else 16.0) if large else (9.0 if name == "over" else 10.2)
            assert size_pt + 0.01 >= least, (paper, language, large)


def pages_of(pdf: bytes) -> int:
    """Pages of a PDF, by its page objects."""
    return len(re.findall(rb"/Type\s*/Page(?![s\w])", pdf))


@pytest.mark.skipif(printing.find_browser() is None, reason="no browser on this machine that prints: install 'chromium'")
@pytest.mark.parametrize(("paper", "language", "large"), [
    ("a4", "en", False), ("a4", "de", True), ("letter", "en", True), ("letter", "de", False),  # each two of them together once
])
def test_pdf_has_one_page_or_two_in_large_print(paper: str, language: str, large: bool, tmp_path: Path) -> None:
    out = tmp_path / "sheet.pdf"
    scene = tmp_path / "scene.toml"
    scene.write_text((over(SCENE) if language == "de" else SCENE).dumps(), "utf-8")
    size = ["--large"] if large else []
    assert main(["sheet", str(scene), "--out", str(out), "--paper", paper, "--language", language, *size]) == 0
    made = out.read_bytes()
    assert pages_of(made) == (4 if large else 2)
    box = re.search(rb"/MediaBox \[0 0 ([\d.]+) ([\d.]+)\]", made)
    assert box
    for found, mm in zip(box.groups(), PAPERS[paper][1:], strict=True):
        assert abs(float(found) / 72 * 25.4 - mm) < 0.5  # printers count in points


def test_html_from_the_command(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    out = tmp_path / "new" / "sheet.html"
    assert main(["sheet", "supple", "--out", str(out)]) == 0
    assert notices.PLAIN["en"].first in out.read_text("utf-8")
    assert capsys.readouterr().out == f"{out}\n"


@pytest.mark.parametrize(
    ("arguments", "line"),
    [
        (["sheet", "tight", "--out", "sheet.doc"],
         "graspwave: 'out' must be a file that ends in .html or .pdf (got 'sheet.doc')\n"),
    ],
)
def test_bad_input_is_told(arguments: list[str], line: str, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(arguments) == 2
    assert capsys.readouterr().err == line


def test_without_a_browser_the_way_out_is_told(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    monkeypatch.setattr(printing, "find_browser", lambda: None)
    with pytest.raises(sim.SceneError, match=r"^'out' must be an \.html file where no .*print that from any"):
        printing.write_pdf("<p>", tmp_path / "a.pdf")
    with pytest.raises(ValueError, match=r"^'paper' must be one of a4, letter \(got 'a5'\)\. Choose one of them\.$"):
        sheet_html(SCENE, paper="a5")
    with pytest.raises(ValueError, match=r"^'side' must be left or right \(got 'both'\)\. Choose one of them\.$"):
        sheet_html(SCENE, side="both")
