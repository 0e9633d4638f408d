"""A compiled lesson with every kind of question and step, small and invented, for tests of the pages that show lessons."""

from __future__ import annotations

import hashlib
import json
from collections.abc import Mapping, Sequence
from typing import Any

import numpy as np

from graspwave import simulator as sim

__all__ = ["CURRENT", "LESSON", "Lessons", "live"]

CURRENT = "channel.0.pulse.amplitude_ma"
_AMPLITUDE = np.linspace(0, 60, 31)
_JOINTS = ("wrist", "MCP", "PIP", "DIP")
_TIGHT = sim.presets()["tight"]


def _picture(kind: str, title: str, text: str, **more: Any) -> dict[str, Any]:
    content = {"kind": kind, "title": title, "text": text, **more}
    return {"id": hashlib.sha256(json.dumps(content, sort_keys=True).encode()).hexdigest()[:32], **content}


def _angles(at: int, opening: Any) -> dict[str, float]:
    return {**{joint: float(opening.angle_deg[joint][at]) for joint in _JOINTS}, "CMC": 38.0, "THUMB_MCP": 8.0, "IP": 8.0}


def _state(current_ma: float) -> dict[str, Any]:
    opening = sim.opening_curve(_TIGHT, _AMPLITUDE)
    at = int(np.argmin(abs(_AMPLITUDE - current_ma)))
    return {
        "angle_deg": _angles(at, opening), "tension": dict.fromkeys(("EDC", "FDP", "FDS", "central", "terminal"), 0.4),
        "slack_mm": {"central": 0.0, "terminal": 0.0}, "recruited": {"openers": 0.5, "closers": 0.1}, "current": current_ma / 60,
        "opening": {"mm": float(opening.opening_mm[at])}, "pads": [{"from_mm": 52, "to_mm": 92}, {"from_mm": 118, "to_mm": 150}],
        "object": None, "wrist_held": False,
    }


def live(scene_toml: str, settings: Mapping[str, float]) -> dict[str, Any]:
    """What a bench draws from, as the program's own gives it."""
    scene = sim.Scene.loads(scene_toml)
    for path, value in settings.items():
        scene = scene.replace(path, value)
    opening = sim.opening_curve(scene, _AMPLITUDE)
    count = len(_AMPLITUDE)
    angles: dict[str, list[float]] = {joint: [float(v) for v in opening.angle_deg[joint]] for joint in _JOINTS}
    angles.update({"CMC": [38.0] * count, "THUMB_MCP": [8.0] * count, "IP": [8.0] * count})
    share = [float(v) for v in np.minimum(1.0, _AMPLITUDE / 40)]
    return {
        "amplitude_ma": [float(v) for v in _AMPLITUDE], "opening_mm": [float(v) for v in opening.opening_mm], "angle_deg": angles,
        "tension": dict.fromkeys(("EDC", "FDP", "FDS", "central", "terminal"), share),
        "slack_mm": {"central": [0.0] * count, "terminal": [0.0] * count}, "recruited": {"openers": share, "closers": share},
        "points": [], "pads": [{"from_mm": 52, "to_mm": 92}, {"from_mm": 118, "to_mm": 150}], "object": None, "wrist_held": False,
        "at_ma": scene.channel[0].pulse.amplitude_ma, "text": "A hand that opens and closes again.",
    }


_CURVE = sim.opening_curve(_TIGHT, _AMPLITUDE).opening_mm


def _curve(title: str, to_ma: float, **more: Any) -> dict[str, Any]:
    keep = to_ma >= _AMPLITUDE
    return _picture(
        "lines", title, f"Opening up to {to_ma:g} mA.",
        x={"name": "Current", "unit": "mA", "quantity": "current", "low": 0, "high": 60},
        y={"name": "Opening", "unit": "mm", "quantity": "opening", "low": 0, "high": 120},
        lines=[{"label": "tight hand", "x": [float(v) for v in _AMPLITUDE[keep]], "y": [float(v) for v in _CURVE[keep]],
                "dash": "", "quantity": "opening"}],
        dots=False, points=[], levels=[], covered=to_ma < 60, **more,
    )


def _choices(*says: str, hands: Sequence[float] = ()) -> list[dict[str, Any]]:
    return [
        {"key": "ABCDE"[at], "html": f"<p>{text}</p>", "hand": _state(hands[at]) if hands else None}
        for at, text in enumerate(says)
    ]


def _question(kind: str, html: str, **more: Any) -> dict[str, Any]:
    empty: dict[str, Any] = {"choices": [], "low": None, "high": None, "step": None, "unit": "", "on": None}
    return {"kind": kind, "html": html, **empty, **more}


def _answer(right: Any, html: str, **choices: tuple[bool, str, str]) -> dict[str, Any]:
    told = {key: {"right": yes, "belief": belief, "html": why} for key, (yes, belief, why) in choices.items()}
    return {"right": right, "html": html, "pictures": [], "choices": told}


def _step(number: int, title: str, kind: str, html: str, **more: Any) -> dict[str, Any]:
    empty: dict[str, Any] = {"say": "", "pictures": [], "question": None, "look": None, "answer": None, "bench": None}
    return {"number": number, "title": title, "kind": kind, "minutes": 4, "html": html, **empty, **more}


_BENCH = {
    "scene": _TIGHT.dumps(), "live": live(_TIGHT.dumps(), {}),
    "settings": [
        {"path": CURRENT, "label": "Current", "unit": "mA", "low": 0, "high": 60, "step": 0.5, "value": 12},
        {"path": "hand.flexor_length_factor", "label": "Flexor length", "unit": "", "low": 0.9, "high": 1.0, "step": 0.01,
         "value": 0.95},
    ],
}

LESSON: dict[str, Any] = {
    "slug": "turned-up", "title": "A tight hand, turned up", "digest": "d1" * 16, "minutes": 24,
    "short": [1, 2], "for": ["students"],
    "objectives": ["Draw opening against current for a tight hand.", "Name a change other than more current."],
    "prior": "<p>Nothing but the names of the joints.</p>",
    "wrong_ideas": [{"key": "M2", "text": "more current always opens more"}],
    "basis": [{"html": "Opening rises, peaks and falls: a result of the model.", "mark": "derived"}],
    "limits": ["One arm stands for all."], "cautions": ["Never chase opening with current."],
    "glossary": {"claw": "The base joint bends back too far while the middle joint curls."},
    "steps": [
        _step(1, "A tight hand", "tell",
              "<p>The tendons of the closers are <strong>five per cent shorter</strong>. Nothing else changed.</p>",
              say="<p>Show both hands side by side.</p>",
              pictures=[_picture("hand", "At rest", "A hand at rest.", state=_state(0), frames=None),
                        _picture("hand", "At 20 mA", "A hand at 20 mA.", state=_state(20), frames=None)]),
        _step(2, "Turn it up", "ask", "<p>The hand is at its best current. Now the current goes up by fifteen.</p>",
              say="<p>&ldquo;You all turned it up. Look at the finger.&rdquo;</p>",
              pictures=[_curve("Up to the best current", 14)],
              question=_question("one", "<p>What does the opening do?</p>",
                                 choices=_choices("It grows", "It stays the same", "It gets smaller", hands=(14, 12, 20))),
              look={"html": "<p>Where does the line turn?</p>",
                    "pictures": [_curve("Past the best current the hand closes again", 60)]},
              answer=_answer(
                  "C", "<p>Past the best current the wrist goes back, which draws the closers tight like reins.</p>",
                  A=(False, "more current always opens more", "<p>More pull does come. It opens less.</p>"),
                  B=(False, "", "<p>It would, if only the openers answered.</p>"), C=(True, "", "<p>The closers win.</p>"))),
        _step(3, "What moved", "ask", "<p>Think of the joints.</p>",
              question=_question("several", "<p>Which of these took opening away?</p>",
                                 choices=_choices("The wrist went back", "Current spread to closers", "The nerve got tired")),
              answer=_answer(["A", "B"], "<p>Two of the three.</p>", A=(True, "", ""), B=(True, "", ""),
                             C=(False, "", "<p>Same fibres.</p>"))),
        _step(4, "How much", "ask", "<p>Ten slow stretches.</p>",
              question=_question("number", "<p>How many millimetres came back?</p>", low=0, high=60, step=1, unit="mm"),
              answer=_answer({"value": 12.0, "tolerance": 4.0}, "<p>Some, not all.</p>")),
        _step(5, "Where", "ask", "<p>Look at the axes.</p>",
              question=_question("place", "<p>Where is the best current?</p>", on=_curve("Where is it widest?", 4, place="x")),
              answer=_answer({"x": 14.0, "y": None, "within_x": 3.0, "within_y": None}, "<p>Lower than most think.</p>")),
        _step(6, "In order", "ask", "<p>From cause to effect.</p>",
              question=_question("order", "<p>Put them into order.</p>",
                                 choices=_choices("The fingers curl", "The wrist goes back", "The current goes up")),
              answer=_answer(["C", "B", "A"], "<p>Each draws the next.</p>")),
        _step(7, "Try it", "roam", "<p>Open the hand as wide as it goes.</p>", bench=_BENCH),
        _step(8, "Two sentences", "talk", "<p>Say it to your neighbour.</p>"),
    ],
}


class Lessons:
    """A source of lessons that has this one."""

    def names(self) -> Sequence[str]:
        return (LESSON["slug"],)

    def compiled(self, slug: str) -> Mapping[str, Any]:
        assert slug == LESSON["slug"]
        return LESSON

    def mine(self, scene_toml: str | None, free: Sequence[str]) -> Mapping[str, Any]:
        pads = {"path": "channel.0.pads.along_percent", "label": "Pads along", "unit": "%", "low": 10, "high": 80, "step": 1,
                "value": 40}
        own = next(step["bench"] for step in LESSON["steps"] if step["bench"])
        return {**own, "settings": [*own["settings"], pads]}

    def live(self, scene_toml: str, settings: dict[str, float]) -> Mapping[str, Any]:
        return live(scene_toml, settings)
