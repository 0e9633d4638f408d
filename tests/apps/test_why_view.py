"""Why the opening changed, as rows: they join up, they are heard as well as seen, and they rest when not looked at."""

from __future__ import annotations

import re
from collections.abc import Iterator
from itertools import pairwise
from typing import Any

import numpy as np
import panel as pn
import pytest
from framed import framed
from playwright.sync_api import Page, expect

from graspwave import simulator as sim
from graspwave.apps.desk.state import DeskState
from graspwave.apps.explore import why_view
from graspwave.apps.explore.why_view import WhyView, before_scene, signed, why_rows
from graspwave.apps.look.frame import page_template
from graspwave.simulator.why import Why, explain_opening
from graspwave.simulator.words import said

AMPLITUDE = "channel.0.pulse.amplitude_ma"
UNSEEN_MM = 0.5  # what rounds to nothing has no row


def past_the_peak() -> DeskState:
    return DeskState(sim.presets()["tight"].replace(AMPLITUDE, 24.0))


def joined(rows: list[dict[str, Any]]) -> bool:
    """Every step starts where the one above ended, and the last bar is as long as they say, but for what has no row."""
    steps = all(abs(a["to_mm"] - b["from_mm"]) < 0.01 for a, b in pairwise(rows[:-1]))
    return steps and rows[0]["from_mm"] == rows[-1]["from_mm"] == 0.0 and abs(rows[-2]["to_mm"] - rows[-1]["to_mm"]) < UNSEEN_MM


def test_rows_lead_from_before_to_now() -> None:
    state = past_the_peak()
    rows = WhyView(state).picture.rows
    assert [row["kind"] for row in rows[:: len(rows) - 1]] == ["end", "end"]
    assert rows[0]["words"].startswith("Before, at ")
    assert rows[-1]["words"] == "Now, at 24 mA"
    assert joined(rows)
    assert "−" in next(row["number"] for row in rows if row["kind"] == "loss")
    kinds = [row["kind"] for row in rows[1:-1]]
    assert kinds == sorted(kinds)  # gains, then losses: the bars stay as near to each other as they can
    assert not joined(rows[:1] + rows[2:])


def test_small_shares_are_one_row_if_together_they_show() -> None:
    why = Why(
        total_mm=-8.8, shares={"wrist": -10.0, "slips": 0.4, "tone": 0.4, "spread": 0.4}, before_mm=50.0, after_mm=41.2,
        said=said("why.change"), said_of={"wrist": said("cause.wrist_more")}, label_of={"wrist": said("label.wrist_more")},
    )
    rows = why_rows(why, "Before", "Now")
    assert [row["words"] for row in rows] == ["Before", "Wrist drawn back", "All else", "Now"]
    assert [row["number"] for row in rows] == ["50 mm", "−10", "+1", "41 mm"]
    assert joined(rows)


def test_a_finger_that_is_not_reached_is_named() -> None:
    aside = sim.presets()["supple"].replace("channel.0.pads.along_percent", 35.0).replace("channel.0.pads.around_deg", 40.0)
    state = DeskState(aside.replace(AMPLITUDE, 22.0))
    shown = WhyView(state).picture.fingers
    assert re.match(r"^The index stays bent: its slip is hardly reached, \d+\u00a0mm less\.", shown)
    even = state.scene.replace("channel.0.pads.around_deg", 0.0).replace("channel.0.pads.along_percent", 45.0)
    assert WhyView(DeskState(even)).picture.fingers == ""  # twin


@pytest.mark.parametrize(("mm", "text"), [(3.2, "+3"), (-9.4, "−9"), (0.2, "0"), (-0.2, "0")])
def test_numbers_have_a_sign(mm: float, text: str) -> None:
    assert signed(mm) == text


def test_before_is_the_best_current_or_the_pinned_hand() -> None:
    state = past_the_peak()
    best = before_scene(state)
    opening = state.curve.opening_mm
    at_best = float(sim.opening_curve(best, [best.channel[0].pulse.amplitude_ma]).opening_mm[0])
    assert at_best >= 0.98 * float(opening.max()) - 0.01
    below = int(best.channel[0].pulse.amplitude_ma)
    assert np.all(opening[:below] < 0.98 * float(opening.max()))
    assert best.replace(AMPLITUDE, 24.0) == state.scene
    state.pin()
    state.change("hand.flexor_length_factor", 1.0)
    assert before_scene(state) == state.pinned
    view = WhyView(state)
    assert view.picture.rows[0]["words"] == "Pinned, at 24 mA"
    assert view.picture.text.startswith("With this change the hand gained")


def test_the_finding_is_that_of_the_model() -> None:
    state = past_the_peak()
    view = WhyView(state)
    assert view.picture.text.replace("\u00a0", " ") == explain_opening(before_scene(state), state.scene).text
    state.change(AMPLITUDE, 30)
    assert view.picture.rows[-1]["words"] == "Now, at 30 mA"


def test_where_nothing_changed_it_says_what_to_do() -> None:
    state = past_the_peak()
    state.pin()
    view = WhyView(state)
    assert view.picture.rows == []
    assert "Change it" in view.picture.text
    best = WhyView(DeskState(before_scene(past_the_peak())))
    assert best.picture.rows == []
    assert "pin this hand" in best.picture.text


def test_it_works_only_while_looked_at(monkeypatch: pytest.MonkeyPatch) -> None:
    calls: list[sim.Scene] = []
    monkeypatch.setattr(why_view, "_why", lambda a, b: calls.append(b) or explain_opening(a, b))
    state = past_the_peak()
    view = WhyView(state, active=False)
    state.change(AMPLITUDE, 26)
    assert calls == []
    assert view.picture.rows == []
    view.active = True
    assert calls == [state.scene]
    assert view.picture.rows[-1]["words"] == "Now, at 26 mA"


@pytest.fixture(scope="module")
def served() -> Iterator[str]:
    """Address of a page with nothing but the view."""

    def explore() -> pn.Template:
        template = page_template("explore", "Explore")
        template.add_panel("notices", WhyView(past_the_peak()))
        return template

    with framed(explore) as where:
        yield where


@pytest.mark.parametrize(("width", "height"), [(1440, 900), (390, 844), (320, 700)])
def test_rows_are_seen_and_heard(page: Page, served: str, width: int, height: int) -> None:
    page.set_viewport_size({"width": width, "height": height})
    page.goto(served)
    rows = page.locator(".gw-why li")
    expect(rows.first).to_be_attached()
    page.evaluate("document.querySelectorAll('[hidden]').forEach(part => { part.hidden = false })")
    heard = rows.evaluate_all("all => all.map(li => li.querySelector('.vh').textContent)")
    shown = WhyView(past_the_peak()).picture.rows
    assert heard == [row["said"] for row in shown]
    assert all(text.endswith(".") and " mm" in text for text in heard)
    # nothing is drawn outside of its list, words and numbers do not meet
    outside = page.locator(".gw-why").evaluate("""root => {
      const edge = root.getBoundingClientRect()
      if (!edge.width) return ['not shown']
      return [...root.querySelectorAll('.words, .bar, .number')].filter(part => {
        const box = part.getBoundingClientRect()
        return box.left < edge.left - 1 || box.right > edge.right + 1
      }).map(part => part.textContent || 'bar')
    }""")
    assert outside == []
    kinds = rows.evaluate_all("""all => all.map(li => {
      const bar = getComputedStyle(li.querySelector('.bar'))
      return [li.className.split(' ')[0], bar.backgroundColor === bar.borderTopColor ? 'filled' : 'hollow']
    })""")
    assert {kind: fill for kind, fill in kinds if kind == "loss"} == {"loss": "hollow"}
    assert all(fill == "filled" for kind, fill in kinds if kind != "loss")
