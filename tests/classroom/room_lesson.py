"""A small compiled lesson with every kind of step and question, for tests; its hand and its numbers are invented."""

from __future__ import annotations

import hashlib
import json
from collections.abc import Mapping, Sequence
from typing import Any

from graspwave import simulator as sim

__all__ = ["SECRET", "Source", "lesson"]

SECRET = "SECRET"
"""Stands in everything that must not be seen before its phase."""


def _picture(title: str) -> dict[str, Any]:
    body = {"kind": "words", "title": title, "text": f"{title} in words", "lines": [f"{title} line"]}
    return {"id": hashlib.sha256(json.dumps(body).encode()).hexdigest()[:32], **body}


def _ask(number: int, question: dict[str, Any], right: Any, *, look: bool = True) -> dict[str, Any]:
    keys = [choice["key"] for choice in question["choices"]]
    return {
        "number": number, "title": f"Question {number}", "kind": "ask", "minutes": 4, "html": "<p>A question.</p>",
        "say": f"<p>{SECRET} say {number}</p>", "pictures": [_picture(f"start {number}")], "question": question,
        "look": {"html": f"<p>{SECRET} look {number}</p>", "pictures": [_picture(f"{SECRET} look {number}")] if look else []},
        "answer": {
            "right": right, "html": f"<p>{SECRET} reason {number}</p>", "pictures": [_picture(f"{SECRET} reveal {number}")],
            "choices": {key: {"right": key in right, "belief": f"{SECRET} belief {key}", "html": f"{SECRET} because {key}"}
                        for key in keys},
        },
        "bench": bench(f"{SECRET} bench {number}"),
    }


def bench(scene: str) -> dict[str, Any]:
    """A bench with one setting."""
    setting = {"path": "channel.0.pulse.amplitude_ma", "label": "Current", "unit": "mA", "low": 0, "high": 60, "step": 1}
    setting["value"] = 20
    return {"scene": scene, "settings": [setting], "live": {"amplitude_ma": [0, 60], "opening_mm": [10, 40], "text": "invented"}}


def _question(kind: str, keys: str = "", **more: Any) -> dict[str, Any]:
    choices = [{"key": key, "html": f"<p>Choice {key}</p>", "hand": None} for key in keys]
    return {"kind": kind, "html": "<p>What then?</p>", "choices": choices, "low": None, "high": None, "step": None, "unit": None,
            "on": None, **more}


def lesson(slug: str = "small") -> dict[str, Any]:
    """The lesson; anything in it that is secret before some phase holds the word `SECRET`."""
    tell = {
        "number": 1, "title": "Telling", "kind": "tell", "minutes": 2, "html": "<p>Listen.</p>", "say": f"<p>{SECRET} say 1</p>",
        "pictures": [_picture("start 1")], "question": None, "look": None, "answer": None, "bench": None,
    }
    roam = {**tell, "number": 7, "title": "Roaming", "kind": "roam", "bench": bench("free to roam")}
    talk = {**tell, "number": 8, "title": "Talking", "kind": "talk"}
    place = _question("place", on=_picture("map"))
    steps = [
        tell,
        _ask(2, _question("one", "ABC"), "B"),
        _ask(3, _question("several", "ABC"), ["A", "C"], look=False),
        _ask(4, _question("number", low=0, high=60, step=1, unit="mA"), {"value": 30, "tolerance": 4}),
        _ask(5, _question("order", "ABC"), ["C", "A", "B"]),
        _ask(6, place, {"x": 40, "y": None, "within_x": 5, "within_y": None}),
        roam,
        talk,
    ]
    return {
        "slug": slug, "title": "A small lesson", "digest": "none", "minutes": 20, "short": [2], "for": ["students"],
        "objectives": [], "prior": "", "wrong_ideas": [], "basis": [], "limits": [], "cautions": [], "glossary": {},
        "steps": steps,
    }


class Source:
    """Gives the small lesson, as the program's own source gives its lessons."""

    def names(self) -> Sequence[str]:
        return ("small",)

    def compiled(self, slug: str) -> Mapping[str, Any]:
        return lesson(slug)

    def mine(self, scene_toml: str | None, free: Sequence[str]) -> Mapping[str, Any]:
        return bench(scene_toml or "a hand of its own")

    def live(self, scene_toml: str, settings: dict[str, float]) -> Mapping[str, Any]:
        current = settings.get("channel.0.pulse.amplitude_ma", 20.0)
        if current == 13.0:
            raise sim.SceneError("channel.0.pulse.amplitude_ma", "another number", current)
        return {"amplitude_ma": [0, 60], "opening_mm": [10, 40], "at_ma": current, "scene": scene_toml, "text": "invented"}
