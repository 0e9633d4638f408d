"""Five zooms: windows that stay inside each other, lines that lose no peak, and the picture in a browser."""

from __future__ import annotations

import dataclasses
import random
import re
from itertools import pairwise
from typing import Any

import numpy as np
import pytest
from playwright.sync_api import Page, expect

from graspwave import simulator as sim
from graspwave.apps.desk.state import DeskState
from graspwave.apps.explore.zooms import ZoomsView
from graspwave.apps.told.zoom_state import WORDS, Zooms, captions, height_ma, panel_points, spoken_time, trains

PIXELS = (112, 230, 390)
# Heights are sent to two places.
ROUND_MA = 0.005 + 1e-9
SAME_S = 1e-9  # rounding of sums at 1800 s is below 1e-12


def scene(**settings: Any) -> sim.Scene:
    made = sim.presets()["supple"]
    base = {
        "channel.0.pulse.amplitude_ma": 12.0, "channel.0.pulse.phase_us": 300.0, "channel.0.train.frequency_hz": 35.0,
        "channel.0.timing.on_s": 8.0, "channel.0.timing.off_s": 16.0, "channel.0.ramp.up_s": 1.5, "channel.0.ramp.down_s": 1.0,
        "session.minutes": 30.0,
    }
    for path, value in {**base, **{key.replace("__", "."): value for key, value in settings.items()}}.items():
        made = made.replace(path, value)
    return made


def two_channels() -> sim.Scene:
    one = scene()
    first = one.channel[0]
    second = dataclasses.replace(
        first, pulse=dataclasses.replace(first.pulse, amplitude_ma=7.0), timing=dataclasses.replace(first.timing, delay_s=8.0),
    )
    return dataclasses.replace(one, channel=(first, second))


def scenes() -> list[sim.Scene]:
    return [
        scene(), two_channels(), scene(channel__0__train__frequency_hz=1.0), scene(session__minutes=1.0),
        scene(channel__0__pulse__shape="asymmetric"), scene(channel__0__timing__control="held"),
    ]


# ---- windows


def nested(zooms: Any) -> bool:
    """Whether every window lies inside the next, and the last one inside the session."""
    windows = [(s, s + n) for s, n in zip(zooms.start_s, zooms.length_s, strict=True)]
    windows.append((0.0, zooms.total_s))
    return all(b[0] - SAME_S <= a[0] < a[1] <= b[1] + SAME_S for a, b in pairwise(windows))


@pytest.mark.parametrize("number", range(6))
def test_windows_stay_inside_each_other(number: int) -> None:
    draw = random.Random(number)
    zooms = Zooms(scenes()[number])
    assert nested(zooms)
    for _ in range(300):
        panel, total = draw.randrange(5), zooms.total_s
        act = draw.choice(["brush", "move", "step", "zoom", "show"])
        if act == "brush":
            zooms.brush(panel, draw.uniform(-0.1, 1.1) * total)
        elif act == "move":
            zooms.move_to(panel, draw.uniform(-0.1, 1.1) * total)
        elif act == "step":
            zooms.step(panel, draw.choice([-1, -0.1, 0.1, 1]))
        elif act == "zoom":
            zooms.zoom(panel, draw.choice([0.5, 2]))
        else:
            zooms.show(draw.choice(scenes()))
        assert nested(zooms), (act, panel)


def test_windows_that_left_each_other_are_noticed() -> None:
    zooms = Zooms(scene())
    zooms.start_s[1] = zooms.start_s[2] + zooms.length_s[2]
    assert not nested(zooms)


def whole_pulse_in_view(zooms: Zooms) -> bool:
    low, high = zooms.window(0)
    train = trains(zooms.scene)[0]
    return bool(np.any((train.onset_s >= low) & (train.end_s <= high) & (train.amplitude_ma > 0.0)))


@pytest.mark.parametrize("at_s", [0.0, 4.0, 100.0, 700.0, 1210.0])
def test_one_gesture_leads_from_the_session_to_one_pulse(at_s: float) -> None:
    zooms = Zooms(scene())
    zooms.brush(4, at_s + 2.0)  # 2 s into the cycles of 24 s, or into the pause of some
    on = (at_s + 2.0) % 24.0 < 8.0
    assert whole_pulse_in_view(zooms) is on
    assert nested(zooms)


def test_shortest_window_that_was_moved_by_hand_is_left_there() -> None:
    zooms = Zooms(scene())
    zooms.step(0, 1.0)
    assert not whole_pulse_in_view(zooms)  # the rest between two pulses is 28 times as long as a pulse
    before = zooms.start_s[0]
    zooms.show(scene(channel__0__train__frequency_hz=40.0))
    assert zooms.start_s[0] == pytest.approx(before, abs=SAME_S)


@pytest.mark.parametrize("delay_s", [0.0, 8.0, 20.0])
def test_first_view_is_one_pulse_at_the_top_of_the_first_rise(delay_s: float) -> None:
    zooms = Zooms(scene(channel__0__timing__delay_s=delay_s))
    assert nested(zooms)
    assert whole_pulse_in_view(zooms)
    assert zooms.start_s[2] == pytest.approx(delay_s)
    assert zooms.centre(0) == pytest.approx(delay_s + 1.5, abs=0.05)


def test_brush_moves_only_shorter_windows() -> None:
    zooms = Zooms(scene())
    before = list(zooms.start_s)
    zooms.brush(3, 30.0)
    assert zooms.start_s[3:] == before[3:]
    assert zooms.centre(2) == pytest.approx(30.0)
    assert zooms.centre(1) == pytest.approx(30.0)


def test_step_moves_by_a_tenth_and_takes_the_shorter_along() -> None:
    zooms = Zooms(scene())
    zooms.brush(4, 600.0)
    before = list(zooms.start_s)
    zooms.step(2, 0.1)
    assert zooms.start_s[2] - before[2] == pytest.approx(0.3)
    assert zooms.start_s[1] - before[1] == pytest.approx(0.3)
    assert zooms.start_s[3] == before[3]


def test_session_has_no_room_so_its_slice_moves() -> None:
    zooms = Zooms(scene())
    zooms.step(4, 0.1)
    zooms.step(4, 0.1)
    assert zooms.start_s[4] == 0.0
    assert zooms.centre(3) == pytest.approx(390.0)  # twice 180 s from the 30 s that it began at


def test_zoom_keeps_lengths_in_order() -> None:
    zooms = Zooms(scene())
    for _ in range(20):
        zooms.zoom(2, 2.0)
    assert zooms.length_s[2] == pytest.approx(0.5 * zooms.length_s[3])
    for _ in range(40):
        zooms.zoom(2, 0.5)
    assert all(2.0 * a <= b * (1.0 + 1e-9) for a, b in pairwise(zooms.length_s))


# ---- lines


def most_in_a_pixel(x: list[int], steps: int, pixels: int) -> int:
    pixel = np.minimum(np.asarray(x) * pixels // steps, pixels - 1)
    return int(np.bincount(pixel).max())


def highest_pulse_ma(train: sim.PulseTrain, start_s: float, length_s: float) -> float:
    """From the pulses themselves, not from the line."""
    seen = (train.onset_s < start_s + length_s) & (train.first_end_s > start_s)
    return float(train.amplitude_ma[seen].max(initial=0.0))


def keeps_peak(y: Any, train: sim.PulseTrain, start_s: float, length_s: float) -> bool:
    return abs(max(y) - highest_pulse_ma(train, start_s, length_s)) <= ROUND_MA


@pytest.mark.parametrize("pixels", PIXELS)
@pytest.mark.parametrize("number", range(6))
def test_lines_are_short_and_keep_every_peak(number: int, pixels: int) -> None:
    zooms = Zooms(scenes()[number])
    for at in (0.1, 0.31, 0.8):
        zooms.brush(4, at * zooms.total_s)
        for start, length in zip(zooms.start_s, zooms.length_s, strict=True):
            for line, train in zip(panel_points(zooms.scene, start, length, pixels), trains(zooms.scene), strict=True):
                assert most_in_a_pixel(line["x"], line["steps"], pixels) <= 4
                assert np.all(np.diff(line["x"]) >= 0)
                assert keeps_peak(line["y"], train, start, length)


def test_a_sampled_line_loses_peaks() -> None:
    train = trains(scene())[0]
    t_s, current = sim.trace_current(train, 0.0, 3.0, 50_000)
    sampled = np.interp(np.linspace(0.0, 3.0, 230), t_s, current)
    assert not keeps_peak(sampled, train, 0.0, 3.0)


def test_all_windows_share_one_height() -> None:
    assert height_ma(two_channels()) == (-12.0, 12.0)
    assert height_ma(scene(channel__0__pulse__shape="asymmetric", channel__0__pulse__phase_ratio=4.0)) == (-3.0, 12.0)
    assert height_ma(scene(channel__0__pulse__shape="monophasic", channel__0__pads__swap=True)) == (-12.0, 0.0)


# ---- words


def test_captions_tell_the_settings() -> None:
    said = [text.replace("\N{NO-BREAK SPACE}", " ") for text in captions(scene())]
    # 75 cycles of 8 s at 35 Hz: 75 x 280 pulses
    assert said == ["phase 300 µs, gap 0", "35 a second, 28.6 ms apart", "rises 1.5 s, falls 1 s", "on 8 s, off 16 s",
                    "30 min, 21 000 pulses"]


def test_held_says_what_stands_in() -> None:
    held = scene(channel__0__timing__control="held")
    assert "stand-in" in captions(held)[3]
    assert trains(held)[0].onset_s.max() < 9.0 + SAME_S  # the press of 8 s and its fall of 1 s


def test_moments_are_as_exact_as_their_window() -> None:
    assert spoken_time(1.514087, 1e-3) == "1.51409 s"
    assert spoken_time(200.0, 1800.0) == "3 min 20 s"
    assert spoken_time(59.9999, 60.0) == "1 min 0.0 s"


# ---- view


def test_view_follows_the_scene_and_sends_what_changed() -> None:
    state = DeskState(scene())
    view = ZoomsView(state, "light")
    before = [getattr(view.picture, f"window_{n}") for n in range(5)]
    view.picture._handle_msg({"kind": "brush", "panel": 2, "value": 1.0})
    after = [getattr(view.picture, f"window_{n}") for n in range(5)]
    assert [a is b for a, b in zip(before, after, strict=True)] == [False, False, True, True, True]
    state.change("channel.0.pulse.amplitude_ma", 20.0)
    assert view.picture.about["high"] == 20.0
    assert max(view.picture.window_4["lines"][0]["y"]) == 20.0
    assert view.picture.get_root() is not None


@pytest.mark.parametrize("bad", [
    None, {}, {"kind": "brush"}, {"kind": "brush", "panel": 9, "value": 1}, {"kind": "move", "panel": 1, "value": float("nan")},
    {"kind": "zoom", "panel": 1, "value": 0}, {"kind": "size", "pixels": "x"}, {"kind": "size", "pixels": [1e400] * 5},
])
def test_what_cannot_be_read_changes_nothing_but_is_answered(bad: Any) -> None:
    view = ZoomsView(DeskState(scene()), "light")
    before = list(view.zooms.start_s)
    view.picture._handle_msg(bad)
    assert view.zooms.start_s == before
    assert view.picture.answered == 1


def test_theme_is_checked() -> None:
    with pytest.raises(ValueError, match="'theme' must be"):
        ZoomsView(DeskState(scene()), "blue")


# ---- in a browser

@pytest.fixture
def zooms_address(views: str) -> str:
    return f"{views}/zooms"


def test_picture_is_worked_by_key_pointer_and_on_a_phone(page: Page, zooms_address: str) -> None:
    wrong: list[str] = []
    page.on("pageerror", lambda error: wrong.append(str(error)))
    page.on("request", lambda request: wrong.append(request.url) if "127.0.0.1" not in request.url else None)
    page.set_viewport_size({"width": 1100, "height": 420})
    page.goto(zooms_address)
    panels = page.locator(".gwz .panel")
    expect(panels).to_have_count(5)
    expect(panels.nth(4)).to_have_attribute("aria-label", re.compile("Session, 30.min"))

    # five keys at most from the session to one pulse
    panels.nth(4).focus()
    for _ in range(4):
        page.keyboard.press("PageDown")
    expect(panels.nth(0)).to_be_focused()
    expect(panels.nth(0)).to_have_attribute("aria-valuetext", re.compile(r"1\.51\d+ s to 1\.51\d+ s, −\d+\.\d to \d+\.\d mA"))

    page.keyboard.press("ArrowUp")
    before = float(panels.nth(1).get_attribute("aria-valuenow") or 0)
    page.keyboard.press("ArrowRight")
    expect(panels.nth(1)).not_to_have_attribute("aria-valuenow", f"{before:g}")
    expect(page.locator(".gwz .read")).to_contain_text(re.compile(r"A few: .* s, .*mA"))
    page.keyboard.press("+")
    expect(panels.nth(1)).to_have_attribute("aria-label", re.compile("50 ms"))

    # the wheel zooms the panel in use, and pans it with Shift
    plot = panels.nth(1).locator(".plot").bounding_box()
    assert plot
    page.mouse.move(plot["x"] + 20, plot["y"] + 20)
    page.mouse.wheel(0, 120)
    expect(panels.nth(1)).not_to_have_attribute("aria-label", re.compile(r"\b50.ms"))
    before = panels.nth(1).get_attribute("aria-valuenow") or ""
    page.keyboard.down("Shift")
    page.mouse.wheel(0, 120)
    page.keyboard.up("Shift")
    expect(panels.nth(1)).not_to_have_attribute("aria-valuenow", before)

    # a click half way through the session takes all shorter windows there
    box = panels.nth(4).locator(".plot").bounding_box()
    assert box
    page.mouse.click(box["x"] + 0.5 * box["width"], box["y"] + 20)
    expect(panels.nth(0)).to_have_attribute("aria-valuetext", re.compile(r"^1[45] min "))
    expect(page.locator(".gwz [aria-live]")).to_contain_text(re.compile(r"Session: 1[45] min .*mA"))

    # the slice is dragged back to the start
    page.mouse.move(box["x"] + 0.5 * box["width"], box["y"] + 20)
    page.mouse.down()
    page.mouse.move(box["x"] + 0.2 * box["width"], box["y"] + 25, steps=4)
    page.mouse.move(box["x"] + 2, box["y"] + 30, steps=4)
    page.mouse.up()
    expect(panels.nth(3)).to_have_attribute("aria-valuetext", re.compile(r"^0\.0 s to "))

    page.set_viewport_size({"width": 390, "height": 600})
    expect(page.locator(".gwz .panel:visible")).to_have_count(1)
    page.get_by_role("button", name="Shorter").click()
    expect(page.locator(".gwz .panel:visible")).to_have_attribute("aria-label", re.compile("^On, off"))
    page.get_by_role("button", name="Longer").click()
    expect(page.locator(".gwz .panel:visible")).to_have_attribute("aria-label", re.compile("^Session"))
    expect(page.get_by_role("button", name="Longer")).to_be_disabled()
    assert not wrong
    assert len(WORDS) == 5


def test_a_finger_drags_the_slice(page: Page, zooms_address: str) -> None:
    page.set_viewport_size({"width": 390, "height": 600})
    page.goto(zooms_address)
    session = page.locator(".gwz .panel.chosen")
    expect(session).to_have_attribute("aria-label", re.compile("^Session"))
    box = session.locator(".plot").bounding_box()
    assert box
    touch = page.context.new_cdp_session(page)
    touch.send("Emulation.setTouchEmulationEnabled", {"enabled": True})
    y = box["y"] + 60
    for kind, share in (("touchStart", 0.1), ("touchMove", 0.3), ("touchMove", 0.6), ("touchMove", 0.75)):
        touch.send("Input.dispatchTouchEvent", {"type": kind, "touchPoints": [{"x": box["x"] + share * box["width"], "y": y}]})
    touch.send("Input.dispatchTouchEvent", {"type": "touchEnd", "touchPoints": []})
    shorter = page.locator(".gwz .panel").nth(3)
    expect(shorter).to_have_attribute("aria-valuetext", re.compile(r"^2[12] min "))  # 0.75 of 30 min, less half a window

    # two fingers that part show less of the session, and larger
    label = session.get_attribute("aria-label")
    for kind, left, right in (("touchStart", 0.45, 0.55), ("touchMove", 0.4, 0.6), ("touchMove", 0.2, 0.8)):
        points = [{"x": box["x"] + at * box["width"], "y": y, "id": n} for n, at in enumerate((left, right))]
        touch.send("Input.dispatchTouchEvent", {"type": kind, "touchPoints": points})
    touch.send("Input.dispatchTouchEvent", {"type": "touchEnd", "touchPoints": []})
    expect(session).not_to_have_attribute("aria-label", label or "")
