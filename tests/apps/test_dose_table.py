"""The dose in numbers: figures, limits, words for how they stand, and the table in a browser."""

from __future__ import annotations

import dataclasses
import math
import re
from typing import Any

import pytest
from playwright.sync_api import Page, expect

from graspwave import simulator as sim
from graspwave.apps.desk.state import DeskState
from graspwave.apps.explore.dose_table import DoseTableView, dose_rows, limit_rows, quantity_text

NB = "\N{NO-BREAK SPACE}"


def scene(**settings: Any) -> sim.Scene:
    made = sim.presets()["supple"]
    base = {
        "channel.0.pulse.amplitude_ma": 12.0, "channel.0.pulse.phase_us": 300.0, "channel.0.train.frequency_hz": 35.0,
        "channel.0.timing.on_s": 8.0, "channel.0.timing.off_s": 16.0, "session.minutes": 30.0,
    }
    for path, value in {**base, **{key.replace("__", "."): value for key, value in settings.items()}}.items():
        made = made.replace(path, value)
    return made


def two_channels(delay_s: float) -> sim.Scene:
    one = scene()
    first = one.channel[0]
    second = dataclasses.replace(first, timing=dataclasses.replace(first.timing, delay_s=delay_s))
    return dataclasses.replace(one, channel=(first, second))


def figures(made: sim.Scene) -> dict[str, list[str]]:
    return {row[0]: [text.replace(NB, " ") for text in row[1:]] for group in dose_rows(made)["groups"] for row in group["rows"]}


def agrees(text: str, value: float) -> bool:
    """Three figures: half of the last one is 0.5 % at most."""
    return math.isclose(float(text.split()[0]), value, rel_tol=5e-3)


def test_figures_by_hand() -> None:
    """12 mA, 300 us, 35 Hz, mirrored, into 500 ohm, pads of 16 cm2: closed forms worked out on paper."""
    table = figures(scene(channel__0__pads__size_cm2=16.0))
    rms = 12.0 * math.sqrt(2 * 300e-6 * 35)
    wanted = {
        "Charge of a phase": 3.6, "Charge density, one phase": 0.225, "Current, r.m.s.": rms,
        "Current, mean rectified": 2 * 12 * 300e-6 * 35, "Current density, r.m.s.": rms / 16.0,
        "Energy of a pulse": 1e3 * 0.012**2 * 500 * 600e-6, "Mean power": 1e3 * 0.012**2 * 500 * 600e-6 * 35,
    }
    for name, value in wanted.items():
        assert agrees(table[name][0], value), name
    assert table["Net charge of a pulse"] == ["0 µC"]
    assert table["Pulses"] == ["21 000"]  # 75 cycles of 280
    assert table["Time on"] == ["10 min"]


def test_a_pulse_without_its_second_phase_would_be_noticed() -> None:
    one_way = figures(scene(channel__0__pulse__shape="monophasic"))
    assert not agrees(one_way["Current, r.m.s."][0], 12.0 * math.sqrt(2 * 300e-6 * 35))
    assert one_way["Net charge of a pulse"] == ["3.60 µC"]


@pytest.mark.parametrize(("delay_s", "minutes"), [(0.0, "10 min"), (6.0, "17 min 30 s"), (8.0, "20 min")])
def test_time_on_of_two_channels_counts_what_they_share_once(delay_s: float, minutes: str) -> None:
    # 75 cycles, on for 8 s each, the second so much later
    table = figures(two_channels(delay_s))
    assert table["Time on"] == ["10 min", "10 min", minutes]
    assert table["Pulses"][2] == "42 000"
    assert table["Charge of a phase"] == ["3.60 µC", "3.60 µC", ""]


def test_pulses_are_never_rounded() -> None:
    made = scene(channel__0__train__frequency_hz=33.0, session__minutes=29.0)
    assert figures(made)["Pulses"] == [f"{sim.dose_of(made).session_pulses:,}".replace(",", " ")]


def test_held_says_what_stands_in() -> None:
    assert "stand-in" in dose_rows(scene(channel__0__timing__control="held"))["groups"][1]["title"]


def test_every_limit_has_words_mark_and_source() -> None:
    made = scene(channel__0__pulse__shape="monophasic", channel__0__pads__spacing_mm=20.0)
    rows = limit_rows(made)
    assert len(rows) == len(sim.dose_of(made).notices)
    assert all(row[key] for row in rows for key in ("quantity", "value", "limit", "stands", "text", "mark", "source"))
    assert rows[0]["kind"] == rows[0]["stands"] == "over"
    assert [row["kind"] for row in rows] == sorted((row["kind"] for row in rows), key=["over", "close", "inside"].index)
    spacing = next(row for row in rows if row["quantity"] == "Pad spacing")
    assert spacing["limit"].startswith("at least")


def test_limits_of_two_channels_are_told_apart() -> None:
    names = [row["quantity"] for row in limit_rows(two_channels(8.0))]
    assert len(names) == len(set(names))
    assert all(re.search("channel.[12]$", name) for name in names)


@pytest.mark.parametrize(("value", "unit", "text"), [
    (0.0, "uC", "0 µC"), (3.6, "uC", "3.60 µC"), (21000, "", "21 000"), (-0.444, "1", "−0.444"),
    (4.2e-5, "W/cm2", "4.20 × 10^−5 W/cm²"),
    (-math.inf, "1", "none"), (12.34, "mA", "12.3 mA"), (999.4, "mA", "999 mA"), (9.996, "mA", "10.0 mA"),
])
def test_numbers_have_unit_and_minus(value: float, unit: str, text: str) -> None:
    assert quantity_text(value, unit).replace(NB, " ") == text


def test_view_follows_the_scene() -> None:
    state = DeskState(scene())
    view = DoseTableView(state)
    before = view.table.figures
    state.change("channel.0.pulse.amplitude_ma", 24.0)
    assert view.table.figures != before
    assert view.table.figures["groups"][0]["rows"][0][1].replace(NB, " ") == "7.20 µC"
    assert view.table.get_root() is not None


def test_no_current_is_no_error() -> None:
    rows = limit_rows(scene(channel__0__pulse__amplitude_ma=0.0))
    assert {row["kind"] for row in rows} == {"inside"}


# ---- in a browser

def test_table_in_a_browser(page: Page, views: str) -> None:
    wrong: list[str] = []
    page.on("pageerror", lambda error: wrong.append(str(error)))
    page.on("request", lambda request: wrong.append(request.url) if "mathjax" in request.url else None)
    page.goto(f"{views}/dose")
    charge = page.get_by_role("row", name="Charge of a phase")
    expect(charge).to_contain_text("3.60")
    expect(page.get_by_role("columnheader", name="Stands")).to_be_visible()

    summary = page.locator("details", has_text="Does not cover").first.locator("summary")
    source = page.locator("details p").first
    expect(source).to_be_hidden()
    summary.focus()
    page.keyboard.press("Enter")
    expect(source).to_be_visible()
    kept = summary.get_attribute("aria-label") or ""

    page.get_by_role("button", name="One way").click()
    net = page.get_by_role("row", name=re.compile("^Net charge of one pulse"))
    expect(net).to_contain_text("over")
    expect(page.locator(f'summary[aria-label="{kept}"] + p')).to_be_visible()  # it stays as the reader left it

    page.set_viewport_size({"width": 320, "height": 700})
    assert page.evaluate("document.documentElement.scrollWidth") <= 320
    assert not wrong
