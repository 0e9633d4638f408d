"""On every bench of our lessons, alone on a laptop and on a phone, the hand is in sight while any of its settings is moved."""

from __future__ import annotations

import json
import re
from typing import Any

import pytest
from playwright.sync_api import Page
from teach_lesson import LESSON
from teach_people import PHONE, Visitor

from graspwave import lessons
from graspwave import simulator as sim
from graspwave.apps.teach.bench import setting_of
from graspwave.lessons.grammar import WrittenStep

LAPTOP = {"width": 1366, "height": 768}

# how much of the hand is seen while a setting has the focus, and whether that setting is seen whole; by step and setting
SEEN = """() => {
  const page = document.querySelector('.alone-page'), bar = document.querySelector('.alone-bar')
  const within = box => {
    const own = page.getBoundingClientRect(), low = bar.getBoundingClientRect()
    const top = Math.max(0, own.top), bottom = Math.min(innerHeight, low.top > innerHeight / 2 ? low.top : innerHeight)
    return Math.max(0, Math.min(box.bottom, bottom) - Math.max(box.top, top)) / box.height
  }
  const hand = document.querySelector('.gwt-bench .gwt-hand')
  return [...document.querySelectorAll('.gwt-bench .gwt-setting')].map(row => {
    const moved = row.querySelector('input[type=range], select')
    moved.focus()
    const seen = [hand, moved].map(one => within(one.getBoundingClientRect()))
    return [row.querySelector('label').textContent.trim(), ...seen]
  })
}"""


def _plain(text: object) -> str:
    return re.sub(r"\{[^{}]*\}", "12.5", str(text))


def _step(number: int, step: WrittenStep, bench: dict[str, Any]) -> dict[str, Any]:
    """A step as it is shown, with its own words, settings and aims; what the hand does is that of the small lesson."""
    scene = sim.presets()["tight"].replace("hand.wrist_held_deg", 0.0)
    aim = {"within": {"opening_mm": [0.0, 200.0]}, "claw": None}
    goals = [{"html": f"<p>{_plain(goal.says.value)}</p>", **aim} for goal in step.goals]
    settings = [setting_of(scene, str(path.value)) for path in step.free]
    return {
        "number": number, "title": step.title, "kind": "roam", "minutes": 4, "html": lessons.html(_plain(step.text.value)),
        "say": "", "pictures": [], "question": None, "look": None, "answer": None,
        "bench": {**bench, "settings": settings, "goals": goals},
    }


@pytest.fixture(scope="module")
def benches() -> dict[str, Any]:
    """A lesson of all steps that have one."""
    own = next(step["bench"] for step in LESSON["steps"] if step["bench"])
    found = [step for slug in lessons.names() for step in lessons.load(slug).steps if step.free]
    assert len(found) > 20
    return {**LESSON, "digest": "d2" * 16, "short": [], "steps": [_step(n, step, own) for n, step in enumerate(found, 1)]}


def _walk(page: Page, teach: str, lesson: dict[str, Any], style: str = "") -> list[tuple[str, str, float, float]]:
    body = json.dumps(lesson)
    page.route("**/lesson/*.json", lambda route: route.fulfill(status=200, content_type="application/json", body=body))
    page.goto(f"{teach}/teach/turned-up")
    page.get_by_role("button", name="Begin", exact=True).click()
    if style:
        page.add_style_tag(content=style)
    found = []
    for step in lesson["steps"]:
        page.get_by_role("heading", name=step["title"], exact=True).wait_for()
        found += [(step["title"], *seen) for seen in page.evaluate(SEEN)]
        page.locator(".alone-bar [data-id=next]").click()
    return found


@pytest.mark.parametrize("size", [LAPTOP, PHONE], ids=["laptop", "phone"])
def test_hand_and_slider_are_on_screen_together(
    visitor: Visitor, teach: str, benches: dict[str, Any], size: dict[str, int],
) -> None:
    found = _walk(visitor(size), teach, benches)
    assert len(found) == sum(len(step["bench"]["settings"]) for step in benches["steps"]) > 40
    assert [one for one in found if min(one[2:]) < 0.97] == []


def test_a_bench_in_one_long_column_would_be_found(visitor: Visitor, teach: str, benches: dict[str, Any]) -> None:
    long = {**benches, "steps": benches["steps"][-2:]}
    column = ".gwt-heroes { display: block !important } .gwt-heroes .gwt-draw { height: 500px !important }"
    assert [one for one in _walk(visitor(LAPTOP), teach, long, column) if min(one[2:]) < 0.97]
