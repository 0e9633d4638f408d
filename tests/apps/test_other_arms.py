"""A hundred other arms beside the curve: whose they are, how many get theirs, and that no old band stands by a new curve."""

from __future__ import annotations

import itertools
import queue
import re
import threading
from collections.abc import Iterator
from typing import Any

import numpy as np
import pytest
from playwright.sync_api import Page, expect
from settled_axe import serious

from graspwave import simulator as sim
from graspwave.apps.computing import Busy
from graspwave.apps.desk.state import DeskState
from graspwave.apps.explore import arms_line as line_module
from graspwave.apps.explore.arms_line import ArmsLine, Told
from graspwave.apps.explore.curve import CurveView
from graspwave.apps.explore.curve_words import _ARMS_LONGEST
from graspwave.apps.explore.in_words import InWordsView
from graspwave.apps.explore.label_places import words_wide
from graspwave.apps.explore.other_arms import OtherArms
from graspwave.apps.look.plots import BAND_ALPHA
from graspwave.apps.told.arms import ARMS, Arms, at_words, curve_key, ever_words, joined
from graspwave.apps.web.source import web_text
from graspwave.apps.web.tokens import TOKENS, contrast
from graspwave.simulator.answers import CURVE_MA

TIGHT = sim.presets()["tight"]
AMPLITUDE = "channel.0.pulse.amplitude_ma"
SOON_S = 30.0


def arms_like(rows: Any, claw: Any = None) -> Arms:
    """Arms with the given openings at every current."""
    opening = np.asarray(rows, dtype=np.float32)
    return joined([(opening, np.zeros(opening.shape, dtype=bool) if claw is None else np.asarray(claw))])


def level(mm: float, arms: int) -> Any:
    return np.full((arms, CURVE_MA.size), mm, dtype=np.float32), np.zeros((arms, CURVE_MA.size), dtype=bool)


# ---- words

def test_counts_in_words_are_those_of_the_arrays() -> None:
    chance = np.random.default_rng(5)
    arms = arms_like(chance.uniform(40.0, 90.0, (ARMS, CURVE_MA.size)), chance.random((ARMS, CURVE_MA.size)) < 0.2)
    for ma in (0.0, 12.0, 17.5, 60.0):
        k = int(np.argmin(np.abs(CURVE_MA - ma)))
        said = " ".join(at_words(arms, TIGHT.replace(AMPLITUDE, ma)))
        counts = r"in (\d+) of 100 other arms; the middle finger claws in (\d+)\. Shaded: .* here (\d+) to (\d+) mm"
        found = re.search(counts, said)
        assert found, said
        column = arms.opening_mm[:, k].astype(float)
        assert list(map(int, found.groups())) == [
            int(np.sum(column >= 70.0)), int(np.sum(arms.claw[:, k])),
            *np.round(np.percentile(column, [10.0, 90.0])).astype(int),
        ]
        assert "not patients" in said
    between = arms.at(12.2)[0]
    assert np.allclose(between, 0.6 * arms.opening_mm[:, 24] + 0.4 * arms.opening_mm[:, 25], atol=1e-5)


def test_none_all_and_any_current_are_told_as_such() -> None:
    rising = np.vstack([np.clip(CURVE_MA * slope, 0.0, 100.0) for slope in np.linspace(2.0, 7.0, ARMS)])
    arms = arms_like(rising)
    assert "in none of 100 other arms; the middle finger claws in none." in at_words(arms, TIGHT.replace(AMPLITUDE, 0.0))[0]
    assert "in all 100 other arms" in at_words(arms, TIGHT.replace(AMPLITUDE, 60.0))[0]
    some, first = ever_words(arms, TIGHT)
    assert "in all 100 other arms" in some
    from_ma, to_ma = map(float, re.findall(r"\d+(?:\.\d+)?", first))
    reach = np.array([CURVE_MA[CURVE_MA * slope >= 70.0][0] for slope in np.linspace(2.0, 7.0, ARMS)])
    assert [from_ma, to_ma] == pytest.approx(np.percentile(reach, [10.0, 90.0]), abs=0.25)
    assert ever_words(arms, TIGHT.replace("task.diameter_mm", 119.0)) == ["No current opens 119 mm in any of 100 other arms."]
    assert "keine Patienten" in " ".join(at_words(arms, TIGHT, "de"))
    longest = max(words_wide(" ".join(at_words(arms, TIGHT.replace(AMPLITUDE, float(ma))))) for ma in range(0, 61, 5))
    assert longest <= words_wide(_ARMS_LONGEST.format(object="pot")) * 1.02, "lines are kept free for the longest"


def over(colour: str, ground: str, alpha: float) -> str:
    """A colour laid thinly on another."""
    parts = ((int(colour[i:i + 2], 16), int(ground[i:i + 2], 16)) for i in (1, 3, 5))
    return "#" + "".join(f"{round(alpha * a + (1.0 - alpha) * b):02X}" for a, b in parts)


def test_words_over_a_band_are_read_and_lessons_have_the_same_band() -> None:
    """Text 4.5 : 1 (WCAG 2.2, 1.4.3) on every ground that a plot has, the phone's too."""
    for theme, ground in itertools.product((0, 1), ("surface", "bg")):
        band = over(TOKENS["opening_f"][theme], TOKENS[ground][theme], BAND_ALPHA)
        assert min(contrast(TOKENS[word][theme], band) for word in ("ink", "ink2", "opening_t")) >= 4.5, (theme, ground)
    assert contrast(TOKENS["opening_t"][0], over(TOKENS["opening_f"][0], TOKENS["bg"][0], 0.3)) < 4.5, "a thicker one is found"
    assert f"fill-opacity:{BAND_ALPHA:g}".replace("0.", ".") in web_text("web/plot_marks.js")


# ---- whose arms

CHANGES: tuple[tuple[str, Any, bool], ...] = (
    (AMPLITUDE, 31.0, True), ("task.diameter_mm", 45.0, True), ("channel.0.timing.on_s", 4.0, True),
    ("channel.0.ramp.up_s", 0.5, True), ("session.minutes", 5.0, True), ("title", "another", True),
    ("hand.finger_tone", 0.01, False), ("hand.strength", 0.3, False), ("hand.wrist_held_deg", 0.0, False),
    ("channel.0.pads.along_percent", 40.0, False), ("channel.0.pulse.phase_us", 200.0, False),
    ("channel.0.train.frequency_hz", 20.0, False),
)


@pytest.mark.parametrize(("path", "value", "same"), CHANGES, ids=[path for path, _, _ in CHANGES])
def test_what_has_the_same_curve_has_the_same_arms_and_nothing_else(path: str, value: Any, same: bool) -> None:
    other = TIGHT.replace(path, value)
    assert (curve_key(other) == curve_key(TIGHT)) is same
    curves = [sim.opening_curve(scene, CURVE_MA[::8]).opening_mm for scene in (TIGHT, other, curve_key(other))]
    assert np.array_equal(curves[1], curves[2]), "the key has the scene's own curve"
    assert np.array_equal(curves[0], curves[1]) is same
    assert curve_key(TIGHT.without("spread")) != curve_key(TIGHT)


class Line(ArmsLine):
    """A line that works when it is told to, in the test's own thread."""

    def __init__(self) -> None:
        super().__init__(work=lambda _scene, seeds: level(50.0, len(seeds)))
        self.asked: list[tuple[sim.Scene, Any]] = []

    def ask(self, scene: sim.Scene, listener: Any) -> None:
        self.asked.append((scene, listener))

    def answer(self, mm: float) -> None:
        """Give the arms to whoever asked last."""
        scene, listener = self.asked[-1]
        arms = joined([level(mm, ARMS)])
        self._known[scene] = arms
        listener(Told(done=ARMS, arms=arms))


def drawn(view: CurveView) -> list[float]:
    """Upper edge of the drawn band; empty where none is drawn."""
    return list(view.band.data["high"])


def test_no_band_stands_beside_a_curve_that_it_is_not_of() -> None:
    """Looked at whenever anything of the drawing changes, not only in the end."""
    state, line = DeskState(TIGHT), Line()
    OtherArms(state, line)
    view = CurveView(state, "light")
    belongs: dict[float, sim.Scene] = {}

    def look(*_: Any) -> None:
        if drawn(view):
            assert belongs[drawn(view)[0]] == curve_key(state.scene), "a band of another curve"

    for source in (view.rest, view.band, view.now):
        source.on_change("data", look)
    assert (drawn(view), line.asked) == ([], []), "nothing is worked out before it is asked for"
    state.arms_asked = True
    assert [scene for scene, _ in line.asked] == [curve_key(TIGHT)]
    line.asked[-1][1](Told(done=30))
    assert view.left_out.said[-1]["text"] == "Working out 100 other arms: 30 of 100."
    belongs[41.0] = curve_key(TIGHT)
    line.answer(41.0)
    assert drawn(view)[0] == 41.0
    assert "not patients" in view.left_out.said[-1]["text"]
    assert "eight in ten open 41 to 41 mm" in view.figure.html_attributes["aria-label"]
    state.change(AMPLITUDE, 22.0)
    state.change("task.diameter_mm", 30.0)
    assert drawn(view)[0] == 41.0
    assert any("At 22 mA: 30 mm or more, room for the pot, in all 100" in part["text"] for part in view.left_out.said)
    assert len(line.asked) == 1, "another current needs no other arms"

    state.change("hand.finger_tone", 0.0)
    assert drawn(view) == []
    assert view.left_out.said[-1]["text"] == "Working out 100 other arms: 0 of 100."
    late = line.asked[-1]
    state.change("hand.finger_tone", 0.03)
    late[1](Told(done=ARMS, arms=joined([level(66.0, ARMS)])))
    assert drawn(view) == [], "a late answer is of a setting that has gone"
    belongs[77.0] = curve_key(state.scene)
    line.answer(77.0)
    assert drawn(view)[0] == 77.0
    state.undo()
    state.undo()
    assert drawn(view)[0] == 41.0, "known arms are there at once"
    state.arms_asked = False
    assert drawn(view) == []
    assert not any("arms" in part["text"] for part in view.left_out.said)


def test_the_look_above_finds_a_band_that_stays() -> None:
    state, line = DeskState(TIGHT), Line()
    OtherArms(state, line)
    view = CurveView(state, "light")
    state.arms_asked = True
    line.answer(41.0)
    view._shade = lambda: None  # type: ignore[method-assign]
    state.change("hand.finger_tone", 0.0)
    assert drawn(view)[0] == 41.0


def test_a_refusal_is_told_and_asked_again_by_the_switch() -> None:
    class Full(Line):
        def ask(self, scene: sim.Scene, listener: Any) -> None:
            super().ask(scene, listener)
            if len(self.asked) == 1:
                raise Busy("Others are waiting: it would take about 45 s. Try again then.")

    state, line = DeskState(TIGHT), Full()
    OtherArms(state, line)
    state.arms_asked = True
    assert "about 45 s" in state.arms_told
    state.arms_asked = False
    assert state.arms_told == ""
    state.arms_asked = True
    line.answer(50.0)
    assert state.arms is not None


def test_the_curve_in_words_says_what_any_current_does() -> None:
    state, line = DeskState(TIGHT), Line()
    OtherArms(state, line)
    words = InWordsView(state).words
    assert not any("arms" in sentence for sentence in words.turns)
    state.arms_asked = True
    line.answer(75.0)
    assert words.turns[-1].startswith("Some current opens 70 mm or more in all 100 other arms.")


# ---- many who ask

class Pieces:
    """Work that waits until it is let go, a piece at a time, and knows how much of it went on at once."""

    def __init__(self) -> None:
        self.begun: queue.Queue[tuple[sim.Scene, range]] = queue.Queue()
        self.go: queue.Queue[Any] = queue.Queue()
        self.at_once, self.most = 0, 0

    def __call__(self, scene: sim.Scene, seeds: range) -> Any:
        self.at_once += 1
        self.most = max(self.most, self.at_once)
        self.begun.put((scene, seeds))
        answer = self.go.get(timeout=SOON_S)
        self.at_once -= 1
        if isinstance(answer, Exception):
            raise answer
        return level(float(scene.hand.fat_mm), len(seeds))

    def let(self, times: int) -> list[range]:
        """Let so many pieces be done; which arms they were."""
        found = []
        for _ in range(times):
            found.append(self.begun.get(timeout=SOON_S)[1])
            self.go.put(None)
        return found


@pytest.fixture
def pieces() -> Iterator[Pieces]:
    found = Pieces()
    yield found
    for _ in range(100):
        found.go.put(None)


def listened() -> tuple[queue.Queue[Told], Any]:
    heard: queue.Queue[Told] = queue.Queue()
    return heard, heard.put


def until(heard: queue.Queue[Told], wanted: Any) -> Told:
    while True:
        told = heard.get(timeout=SOON_S)
        if wanted(told):
            return told


def scene_of(fat_mm: float) -> sim.Scene:
    return curve_key(TIGHT.replace("hand.fat_mm", fat_mm))


def test_arms_come_in_pieces_once_for_all_who_ask_and_one_scene_at_a_time(pieces: Pieces) -> None:
    line = ArmsLine(pieces)
    (one, hear_one), (same, hear_same), (next_, hear_next) = listened(), listened(), listened()
    line.ask(scene_of(4.0), hear_one)
    first = pieces.begun.get(timeout=SOON_S)
    line.ask(scene_of(4.0), hear_same)
    line.ask(scene_of(5.0), hear_next)
    assert until(next_, lambda told: True).wait_s > 0.0, "who waits is told how long"
    pieces.go.put(None)
    seeds = [first[1], *pieces.let(19)]
    assert [seed for part in seeds for seed in part] == list(range(1, ARMS + 1))
    assert [until(heard, lambda told: told.arms is not None).done for heard in (one, same)] == [ARMS, ARMS]
    pieces.let(20)
    found = until(next_, lambda told: told.arms is not None).arms
    assert found is not None
    assert found.opening_mm[0, 0] == 5.0
    assert pieces.most == 1, "nobody waits behind more than one piece"
    assert line.known(scene_of(4.0)) is not None
    assert line.known(scene_of(6.0)) is None


def test_what_nobody_waits_for_is_given_up_after_its_piece(pieces: Pieces) -> None:
    line = ArmsLine(pieces)
    (_, hear), (next_, hear_next) = listened(), listened()
    line.ask(scene_of(4.0), hear)
    pieces.begun.get(timeout=SOON_S)
    line.leave(hear)
    line.ask(scene_of(5.0), hear_next)
    pieces.go.put(None)
    assert pieces.begun.get(timeout=SOON_S)[0] == scene_of(5.0), "one piece of the first, then the next"
    pieces.go.put(None)
    pieces.let(19)
    assert until(next_, lambda told: told.arms is not None)
    assert line.known(scene_of(4.0)) is None


def test_too_many_are_refused_with_how_long_and_no_failure_stops_the_line(
    pieces: Pieces, monkeypatch: pytest.MonkeyPatch,
) -> None:
    monkeypatch.setattr(line_module, "_WAITING_MOST", 2)
    monkeypatch.setattr(line_module, "_TRY_AGAIN_S", 0.0)
    line = ArmsLine(pieces)
    (one, hear_one), (two, hear_two) = listened(), listened()
    line.ask(scene_of(4.0), hear_one)
    line.ask(scene_of(5.0), hear_two)
    with pytest.raises(Busy, match=r"about \d+ s\. Try again then\."):
        line.ask(scene_of(6.0), print)

    def gone(_told: Told) -> None:
        raise RuntimeError("the page has gone")

    line.ask(scene_of(5.0), gone)
    pieces.begun.get(timeout=SOON_S)
    pieces.go.put(Busy("the processes are taken"))  # tried again
    pieces.begun.get(timeout=SOON_S)
    pieces.go.put(ValueError("no such thing"))
    assert "could not be worked out" in until(one, lambda told: bool(told.failed)).failed
    pieces.let(20)
    assert until(two, lambda told: told.arms is not None)


def test_a_process_of_the_server_gives_what_the_model_gives() -> None:
    """By the real line: the first piece of a scene, then it is given up."""
    line, done = ArmsLine(), threading.Event()
    pieces: list[Any] = []
    work = line._work

    def kept(scene: sim.Scene, seeds: range) -> Any:
        pieces.append(work(scene, seeds))
        line.leave(hear)
        done.set()
        return pieces[-1]

    def hear(_told: Told) -> None:
        return None

    line._work = kept
    line.ask(curve_key(TIGHT), hear)
    assert done.wait(3.0 * SOON_S)
    from graspwave.lessons.arm_curves import arm_curves

    assert np.array_equal(pieces[0][0], arm_curves(curve_key(TIGHT), range(1, 6))[0])


# ---- in the browser

BAND = """() => {
  const models = Bokeh.documents.flatMap(d => [...d._all_models.values()])
  const figure = models.find(m => m.type === 'Figure' && m.name === 'curve')
  return figure?.renderers.find(r => r.glyph.type === 'VArea').data_source.data.high.length
}"""
"""Points of the drawn band."""


def test_the_switch_by_keyboard_in_the_page(explore: Page) -> None:
    switch = explore.get_by_role("button", name="100 other arms")
    expect(switch).to_have_attribute("aria-pressed", "false")
    assert explore.evaluate(BAND) == 0
    switch.focus()
    explore.keyboard.press("Enter")
    expect(switch).to_have_attribute("aria-pressed", "true")
    words = explore.locator("#area-curve .said")
    expect(words).to_contain_text("Invented arms, not patients.", timeout=60_000)
    expect(explore.locator("#area-curve p.vh[role=status]")).to_contain_text("Shaded: eight in ten")
    assert explore.evaluate(BAND) == CURVE_MA.size
    assert serious(explore, {"preload": False}) == []  # it would ask for every style sheet again, which another test counts
    before = words.text_content()
    explore.get_by_role("slider", name="Current").press("PageUp")
    expect(words).not_to_have_text(before or "")
    expect(words).to_contain_text("Invented arms, not patients.")
    expect(explore).to_have_url(re.compile(r"[?&]show=arms"))
    explore.get_by_role("button", name="Invented arms, not patients.").click()
    expect(explore.get_by_text("nobody has measured", exact=False).first).to_be_visible()
    switch.click()
    expect(words).not_to_contain_text("arms")
    assert explore.evaluate(BAND) == 0
    explore.goto(explore.url.split("?")[0])  # for whoever has the page next
