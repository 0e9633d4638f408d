"""Colours, wording and frame: contrast by the formula of WCAG 2.2, tokens in the page, nothing from elsewhere."""

from __future__ import annotations

import re
from pathlib import Path

import pytest
from bokeh.models import Label, Title

from graspwave.apps import notices
from graspwave.apps.look import frame
from graspwave.apps.web import tokens
from graspwave.apps.web.source import web_files, web_text

APPS = Path(__file__).parents[2] / "apps"
TEXT = ("ink", "ink2", "current_t", "force_t", "angle_t", "opening_t", "caution_t")
FILL = ("edge", "current_f", "force_f", "angle_f", "opening_f")
GROUND = ("bg", "surface")
THEMES = ("light", "dark")


def short_of(
    names: tuple[str, ...], grounds: tuple[str, ...], least: float, theme: str, table: dict[str, str]
) -> list[str]:
    """Return the pairs whose contrast is below `least` (WCAG 2.2, success criteria 1.4.3 and 1.4.11)."""
    found = []
    for name in names:
        for ground in grounds:
            ratio = tokens.contrast(table[name], table[ground])
            if ratio < least:
                found.append(f"{theme}: {name} on {ground} {ratio:.2f}")
    return found


@pytest.mark.parametrize(
    ("one", "other", "ratio"),
    # WCAG 2.2, definition of contrast ratio: black on white is 21 to 1, a colour on itself 1 to 1.
    # The grey pair follows from the formula by hand: ((0x77 / 255 + 0.055) / 1.055) ** 2.4 = 0.1845, 1.05 / 0.2345.
    [("#000000", "#FFFFFF", 21.0), ("#123456", "#123456", 1.0), ("#777777", "#FFFFFF", 4.478)],
)
def test_contrast_formula(one: str, other: str, ratio: float) -> None:
    assert tokens.contrast(one, other) == pytest.approx(ratio, rel=1e-3)
    assert tokens.contrast(other, one) == pytest.approx(ratio, rel=1e-3)


@pytest.mark.parametrize("theme", THEMES)
def test_words_and_fills_have_contrast(theme: str) -> None:
    table = tokens.colours(theme)
    assert short_of(TEXT, GROUND, 4.5, theme, table) == []
    assert short_of(FILL, GROUND, 3.0, theme, table) == []
    assert short_of(("ink", "ink2"), ("sel",), 4.5, theme, table) == []


@pytest.mark.parametrize("theme", THEMES)
def test_words_on_filled_tags_have_contrast(theme: str) -> None:
    tags = tuple(f"{name}_t" for name in ("current", "force", "angle", "opening", "caution"))
    assert short_of(tags, ("bg",), 4.5, theme, tokens.colours(theme)) == []


def test_contrast_check_can_fail() -> None:
    pale = tokens.colours("light") | {"opening_t": "#009E73", "force_f": "#F0A060"}
    assert short_of(TEXT, GROUND, 4.5, "light", pale)
    assert short_of(FILL, GROUND, 3.0, "light", pale)


def test_css_has_every_token_twice() -> None:
    css = tokens.css()
    for name, pair in tokens.TOKENS.items():
        for value in pair:
            assert f"--{name.replace('_', '-')}:{value};" in css
    assert css.count("--skin:") == 2 * len(tokens.SKIN)


def test_style_sheets_use_known_properties_and_no_colour_of_their_own() -> None:
    own = {"--font", "--scale", "--base", "--gap", "--p", "--qf", "--qt", "--finding", "--big-note", "--hold-high"}
    known = set(re.findall(r"(--[a-z0-9-]+):", tokens.css())) | own
    for path in ("look/static/style.css", "controls/controls.css", "web/range.css"):
        text = web_text(path)
        assert set(re.findall(r"var\((--[a-z0-9-]+)", text)) <= known
        # The ink of the caution stripes is the one fixed colour: the stripes look alike in both themes.
        assert set(re.findall(r"#[0-9A-Fa-f]{6}\b", text)) <= {"#14262c"}


def test_paint_colours_and_tags() -> None:
    label = tokens.paint(Label(x=0, y=0, text="58 mm"), "dark", text_color="bg", background_fill_color="opening_t")
    assert (label.text_color, label.background_fill_color) == ("#0F1B20", "#3FCB9F")
    tokens.paint(label, "light", text_color="ink")
    assert label.tags == [{"paint": {"text_color": "ink", "background_fill_color": "opening_t"}}]


def test_text_size_sets_and_tags() -> None:
    title = tokens.text_size(Title(text="Opening [mm]"), text_font_size=0.8)
    assert title.text_font_size == "12.0px"
    assert title.tags == [{"rem": {"text_font_size": 0.8}}]


@pytest.mark.parametrize(
    ("call", "message"),
    [
        (
            lambda: tokens.paint(Title(), "light", text_color="red"),
            r"'text_color' must be a token of the look \(got 'red'\)\. Known: bg, surface, .*",
        ),
        (
            lambda: tokens.colours("blue"),
            r"'theme' must be 'light' or 'dark' \(got 'blue'\)\. Use one of these two words\.",
        ),
        (
            lambda: tokens.text_size(Title(), text_font_size=13),
            r"'text_font_size' must be between 0\.5 and 4 rem \(got 13\)\. Body text is 1\.",
        ),
        (
            lambda: frame.page_template("map", "Map"),
            r"'page' must be a key of 'pages' \(got 'map'\)\. Add \('map', name\) to 'pages'\.",
        ),
        (
            lambda: notices.cautions_html(1),
            r"'level' must be between 2 and 6 \(got 1\)\. Use the level under the nearest heading\.",
        ),
    ],
)
def test_errors_name_the_rule_and_the_repair(call: object, message: str) -> None:
    with pytest.raises(ValueError, match=f"^{message}$"):
        call()  # type: ignore[operator]


def test_static_files_are_there_and_ask_nobody() -> None:
    folder = frame._HERE / "static"
    assert len(web_files()["look/static/fonts/atkinson-hyperlegible-next-latin-wght-normal.woff2"]) < 40_000
    assert "SIL OPEN FONT LICENSE" in (folder / "fonts" / "LICENSE.txt").read_text(encoding="utf-8").upper()
    for file in (*folder.glob("*.css"), *folder.glob("*.js"), frame._HERE / "frame.html"):
        assert not re.search(r"(https?:)?//[a-z0-9-]+\.[a-z]", file.read_text(encoding="utf-8")), file.name


def test_caution_wording() -> None:
    line = notices.caution_text()
    assert line == (
        "A teaching model, not for setting treatment. "
        "Follow the stimulator's own instructions, local rules and a licensed clinician."
    )
    assert notices.caution_html().startswith(f"<strong>{notices.CAUTION_FIRST}</strong>")
    assert [group.title for group in notices.CAUTIONS] == [
        "Not without medical clearance", "Never", "With care", "Stop and ask",
    ]
    for group in notices.CAUTIONS:
        assert group.mark == "memory mid"
        for item in group.items:
            assert item in notices.cautions_text()
            assert f"<li>{item}</li>" in notices.cautions_html()


def test_frame_builds_with_some_roots_only() -> None:
    template = frame.page_template("explore", "Explore", pages=[("explore", "Explore"), ("explain", "Explain")])
    template.add_panel("hand", "a hand")
    doc = template.server_doc()
    assert "hand" in {root.name for root in doc.roots}


ONCE = {"\n.vh {": "shared.css", "\n.seg input:checked + span {": "shared.css", "\nselect,\n.field {": "shared.css"}
"""Rules that a page and its components share, and the sheet in which they stand."""


def standing_in(texts: dict[str, str], rule: str) -> list[str]:
    return [name for name, text in texts.items() if rule in f"\n{text}"]


@pytest.mark.parametrize("rule", list(ONCE))
def test_what_pages_and_components_share_stands_once(rule: str) -> None:
    sheets = {path.name: path.read_text("utf-8") for path in APPS.rglob("*.css")}
    assert standing_in(sheets, rule) == [ONCE[rule]]
    assert len(standing_in({**sheets, "other.css": sheets["shared.css"]}, rule)) == 2


def test_elements_are_made_in_one_way() -> None:
    makers = {"element.js", "dom.js", "words.js"}  # the last measures letters on a canvas that is never shown
    scripts = [path for path in APPS.rglob("*.js") if path.parent.name != "static"]  # those run before any module is there
    assert {path.name for path in scripts if "document.createElement(" in path.read_text("utf-8")} == makers
