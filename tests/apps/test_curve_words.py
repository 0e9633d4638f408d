"""Words on the opening curve lie on no line and on no other word, at any size of plot and letters; what has no place is told."""

from __future__ import annotations

import itertools
from typing import Any

import numpy as np
import pytest

from graspwave import simulator as sim
from graspwave.apps.desk.pause import AfterPause
from graspwave.apps.desk.state import DeskState
from graspwave.apps.explore import curve as curve_module
from graspwave.apps.explore.curve import CurveView
from graspwave.apps.explore.label_places import Room, Sheet, words_wide
from graspwave.apps.told.marks import Marks
from graspwave.simulator.folding import Fold

AMPLITUDE = "channel.0.pulse.amplitude_ma"
FOLD = Fold(30.1, 22.0, 12.0, 28.8, back_ma=(30.1, 29.5, 28.9, 28.8), back_mm=(12.0, 13.0, 15.0, 27.0))
PLACES = {
    "phone": (322.0, 166.0, 17.0), "phone, large letters": (316.0, 190.0, 22.0), "wall": (430.0, 280.0, 18.5),
    "desk": (452.0, 300.0, 15.0),
}
"""Size of the drawn part and of a letter of 1 rem [px], as they were read from the page."""


def _through(box: tuple[float, ...], points: Any) -> bool:
    """Whether a line through points [px] comes into a box: by the sides that each piece enters and leaves through."""
    (left, low, right, high), points = box, np.asarray(points, dtype=float)
    for a, b in itertools.pairwise(points):
        if not np.all(np.isfinite([a, b])):
            continue
        enters, leaves = 0.0, 1.0
        for k, (least, most) in enumerate(((left, right), (low, high))):
            way = b[k] - a[k]
            if way == 0.0:
                if not least < a[k] < most:
                    enters = 2.0
                continue
            first, last = sorted(((least - a[k]) / way, (most - a[k]) / way))
            enters, leaves = max(enters, first), min(leaves, last)
        if enters < leaves:
            return True
    return False


def _wrong(view: CurveView, place: str) -> list[str]:
    """Words on words, on a line or past the plot; a tag may lie on the thin lines that lead to the axes."""
    wide, high, letter = PLACES[place]
    words, sheet = view.words, Sheet(wide, high, 60.0, float(view.figure.y_range.end), 14.0 / 15.0 * letter)
    tags = [words.x_tag, words.y_tag]
    labels = [x for x in (*tags, words.widest, words.object, words.fold, words.kept, *words.stretches) if x.visible]
    boxes = {id(x): sheet.box(x) for x in labels}
    thick = [view.past, view.rest, view.kept, view.fits, view.back]
    out = []
    for label in labels:
        box = boxes[id(label)]
        for source in thick if label in tags else [*thick, view.fits_legs, view.drop_x, view.drop_y]:
            if len(source.data["x"]) and _through(box, sheet.place(source.data["x"], source.data["y"])):
                out.append(f"{label.text!r} on a line")
        if min(box[:2]) < 2.0 or box[2] > sheet.wide_px + 0.1 or box[3] > 1.03 * sheet.high_px:
            out.append(f"{label.text!r} off the plot")
    for a, b in itertools.combinations(labels, 2):
        (al, ab, ar, at), (bl, bb, br, bt) = boxes[id(a)], boxes[id(b)]
        if min(ar, br) > max(al, bl) and min(at, bt) > max(ab, bb):
            out.append(f"{a.text!r} on {b.text!r}")
    return out


def _told(view: CurveView) -> str:
    """All that is written on the plot and below it."""
    words = view.words
    shown = [x.text for x in (words.widest, words.object, words.fold, words.kept) if x.visible]
    return " ".join([*shown, *(part["text"] for part in view.left_out.said)]).replace("\n", " ")


def _laid(hand: str, pinned: bool, place: str) -> CurveView:
    wide, high, letter = PLACES[place]
    state = DeskState(sim.presets()[hand])
    view = CurveView(state, "light")
    state.pinned = sim.presets()["supple"].replace("title", "A hand beside it") if pinned else None
    state.marks = Marks((FOLD,), (), ()) if hand == "tight" else None
    state.param.update(letter_px=letter, plot_px={"curve": (wide, high)})
    return view


@pytest.mark.parametrize("place", PLACES)
def test_no_word_of_the_curve_lies_on_a_line_and_all_is_told(place: str) -> None:
    for hand, pinned in itertools.product(("supple", "stiff", "tight"), (False, True)):
        view = _laid(hand, pinned, place)
        for now in (3.0, 15.0, 45.0):
            view._state.change(AMPLITUDE, now)
            assert _wrong(view, place) == [], (hand, pinned, now)
            said = _told(view)
            assert "fits" in said, (hand, pinned, now)
            assert ("goes over at 30.1, back at 28.8 mA" in said) == (hand == "tight")
            assert ("A hand beside it" in said) == pinned


def test_words_on_lines_are_found_where_nothing_keeps_them_off(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(Room, "line", lambda *_: None)
    assert "on a line" in str(_wrong(_laid("tight", True, "phone"), "phone"))
    monkeypatch.setattr(Room, "take", lambda *_: None)
    assert "' on '" in str(_wrong(_laid("tight", True, "phone, large letters"), "phone, large letters"))


def test_the_plot_keeps_its_height_whatever_finds_a_place() -> None:
    state = DeskState()
    view = CurveView(state, "light")
    state.param.update(letter_px=17.0, plot_px={"curve": (322.0, 60.0)})
    assert any("Widest" in part["text"] or "pot" in part["text"] for part in view.left_out.said)
    rows = view.left_out.rows
    state.plot_px = {"curve": (322.0, 400.0)}
    assert view.left_out.said == []
    assert view.left_out.rows == rows > 1
    state.plot_px = {"curve": (500.0, 400.0)}
    assert view.left_out.rows == 1
    state.pin()
    assert view.left_out.rows == 2


def test_a_word_where_there_is_no_room_is_hidden() -> None:
    state = DeskState()
    view = CurveView(state, "light")
    room = Room(Sheet(100.0, 100.0, 60.0, 100.0, 14.0))
    label = view.words.widest
    label.update(text="widest 36", x=30.0, y=50.0, visible=True)
    assert room.put(label)
    room.take((0.0, 0.0, 100.0, 102.0))
    assert not room.put(label)
    assert not label.visible
    assert words_wide("mm\nii") > 2.0 * words_wide("ii")


def test_the_last_step_of_a_drag_is_told_to_a_screen_reader(monkeypatch: pytest.MonkeyPatch) -> None:
    later: list[CurveView] = []
    monkeypatch.setattr(AfterPause, "__call__", lambda self, *_: later.append(self._work))
    state = DeskState()
    view = CurveView(state, "light")
    monkeypatch.setattr(curve_module.time, "monotonic", lambda: view._spoken_at + 0.5)
    before = view.figure.html_attributes["aria-label"]
    state.change(AMPLITUDE, 21.0)
    state.change(AMPLITUDE, 23.0)
    assert view.figure.html_attributes["aria-label"] == before
    later[-1]()
    gap = float(state.point.opening_mm[0])
    assert f"At 23 mA the opening is {gap:.0f} mm." in view.figure.html_attributes["aria-label"]
