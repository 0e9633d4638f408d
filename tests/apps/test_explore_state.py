"""What the Explore page knows, without a page: changes, undo, the address, findings."""

from __future__ import annotations

import base64
import random
import zlib
from itertools import pairwise

import numpy as np
import pytest

from graspwave import simulator as sim
from graspwave.apps.desk.settings import SettingsView
from graspwave.apps.desk.state import DeskState
from graspwave.apps.told import findings
from graspwave.apps.told.scenes import scene_from_address, scene_to_address

AMPLITUDE = "channel.0.pulse.amplitude_ma"


def test_a_drag_is_one_step_back() -> None:
    state = DeskState()
    start = state.scene
    for value in (13, 14, 15):
        assert state.change(AMPLITUDE, value)
    state.change("channel.0.pulse.phase_us", 200)
    state.undo()
    assert state.amplitude_ma == 15.0
    state.undo()
    assert state.scene == start
    assert not state.can_undo


def test_a_refused_change_is_told_and_changes_nothing() -> None:
    state = DeskState()
    before = state.scene
    assert not state.change(AMPLITUDE, 99)
    assert state.message == "Current goes from 0 to 60\N{NO-BREAK SPACE}mA. 99\N{NO-BREAK SPACE}mA was asked for."
    assert state.scene == before
    assert state.change(AMPLITUDE, 20)
    assert state.message == ""


def test_numbers_follow_the_scene() -> None:
    state = DeskState()
    rest = float(state.point.opening_mm[0])
    state.change(AMPLITUDE, 0)
    assert float(state.point.opening_mm[0]) != rest
    assert float(state.point.opening_mm[0]) == pytest.approx(float(state.curve.opening_mm[0]), abs=0.01)
    tight = state.curve
    state.change("hand.flexor_length_factor", 1.0)
    assert state.hand_key == "supple"
    assert state.curve.opening_mm[0] > tight.opening_mm[0] + 5.0


def test_pinned_curve_stays() -> None:
    state = DeskState()
    state.pin()
    kept = state.pinned_curve
    state.change("hand.flexor_length_factor", 1.0)
    assert kept is not None
    assert state.pinned_curve is kept
    state.pin()
    assert state.pinned_curve is None


@pytest.mark.parametrize("key", ["supple", "stiff", "tight", "trial"])
def test_a_scene_survives_the_address(key: str) -> None:
    scene = sim.presets()[key]
    text = scene_to_address(scene)
    assert len(text) < 1500
    assert scene_from_address(text) == scene


@pytest.mark.parametrize("text", ["", "x", "AAAA", "<script>", "é", "A" * 5000, scene_to_address(sim.Scene())[:-9]])
def test_what_is_no_scene_in_the_address_is_refused(text: str) -> None:
    assert scene_from_address(text) is None


CURRENT = np.linspace(0.0, 60.0, 61)
HILL = 20.0 + 50.0 * np.exp(-(((CURRENT - 20.0) / 6.0) ** 2))


def test_parts_of_a_hill_are_told_in_order() -> None:
    parts = findings.stretches(CURRENT, HILL)
    assert [part.kind for part in parts] == ["shut", "opens", "steady", "closes"]
    assert all(a.to_ma == b.from_ma for a, b in pairwise(parts))
    assert findings.stretches(CURRENT, np.full(61, 30.0))[0].kind == "shut"


@pytest.mark.parametrize(
    ("now", "object_mm", "words"),
    [
        (2.0, 45.0, "The hand starts to open at 10 mA"),
        (18.0, 45.0, "The pot fits from 15.1 mA"),
        (18.0, 90.0, "At its widest, 70 mm: too narrow for the pot"),
        (40.0, 45.0, "Past 22 mA the hand closes again"),
    ],
)
def test_the_title_is_the_finding(now: float, object_mm: float, words: str) -> None:
    assert findings.finding(CURRENT, HILL, now, "pot", object_mm) == words


def test_angles_in_words() -> None:
    assert findings.wrist_words(-38.2) == "38° back"
    assert findings.wrist_words(12.0) == "12° down"
    assert findings.bend_words(-19.0) == "19° past straight"
    assert findings.bend_words(62.0) == "62° bent"
    assert findings.bend_words(0.2) == "0° straight"


def test_wrist_is_free_on_the_table_or_held() -> None:
    state = DeskState()
    choice, angle = SettingsView(state)._wrist()
    assert choice.value == "free"
    free = state.point.angle_deg["wrist"][0]
    choice.value = "rests"
    assert (state.scene.hand.wrist_rests, state.scene.hand.wrist_held_deg) == (True, None)
    assert state.point.angle_deg["wrist"][0] < free - 20.0
    assert not angle.visible
    choice.value = "held"
    assert (state.scene.hand.wrist_rests, state.scene.hand.wrist_held_deg) == (False, 0.0)
    choice.value = "free"
    assert (state.scene.hand.wrist_rests, state.scene.hand.wrist_held_deg) == (False, None)


def test_an_address_is_unpacked_no_further_than_a_scene_may_be_long(monkeypatch: pytest.MonkeyPatch) -> None:
    address = base64.urlsafe_b64encode(zlib.compress(b"#" * 1_000_000, 9)).decode().rstrip("=")
    assert len(address) < 2000
    read: list[int] = []
    monkeypatch.setattr(sim.Scene, "loads", lambda text: read.append(len(text)))
    assert scene_from_address(address) is None
    assert read == []


def test_an_address_may_be_so_long_and_no_longer() -> None:
    chance = random.Random(5)

    def told(signs: int) -> sim.Scene:
        return sim.Scene(story="".join(chance.choice("abcdefghijklmnopqrstuvwxyz0123456789") for _ in range(signs)))

    short, long = told(500), told(2000)
    assert len(scene_to_address(short)) <= 2000 < len(scene_to_address(long))
    assert scene_from_address(scene_to_address(short)) == short
    assert scene_from_address(scene_to_address(long)) is None


def test_another_current_asks_for_one_posture_and_no_curve(monkeypatch: pytest.MonkeyPatch) -> None:
    """What a drag of the current costs: one hand is risen to, where another setting settles the whole curve anew."""
    from graspwave.simulator.hand import walk

    settled: list[int] = []
    plain = walk.settle

    def counted(k: object, q: np.ndarray, *given: object) -> object:
        settled.append(len(q))
        return plain(k, q, *given)

    monkeypatch.setattr(walk, "settle", counted)
    state = DeskState(sim.presets()["tight"].replace("hand.finger_tone", 0.0123))

    def look() -> list[int]:
        settled.clear()
        assert state.curve.opening_mm.size > 40
        assert state.point.opening_mm.size == 1
        assert state.finding
        assert state.notices
        return [rows for rows in settled if rows]

    look()
    state.change("channel.0.pulse.amplitude_ma", 27.5)
    assert look() == [len(range(0, 28)) + 1]  # by whole milliamperes up to 27, and on to 27.5
    state.change("channel.0.pulse.phase_us", 210.0)
    assert max(look()) == len(range(0, 61)) + state.curve.opening_mm.size
