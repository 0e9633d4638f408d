"""What leaves the server: nothing of an answer before its phase, for any role but the one who teaches."""

from __future__ import annotations

import json
from dataclasses import replace
from typing import Any

import pytest
from room_lesson import SECRET, lesson

from graspwave.apps.classroom import view as views
from graspwave.apps.classroom.messages import counts_for, mine_for, state_for
from graspwave.apps.classroom.room import ASK_PHASES, Room, positions
from graspwave.apps.classroom.store import Snapshot

LESSON = lesson()
ANSWERS = [{"choice": "B"}, {"choices": ["A", "C"]}, {"value": 30.0}, {"order": ["C", "A", "B"]}, {"x": 40.0}]


def snapshot(step: int, phase: str, **more: Any) -> Snapshot:
    given = {1: (json.dumps(ANSWERS[step - 1]), 2)} if 1 <= step <= 5 else {}
    room = replace(Room("plum-river-42", "small", step, phase), **more)
    people, words = {1: "otter", 2: "fern"}, ((1, 2, "secret", False),)
    return Snapshot(room, "d", 0, people, {1: given, 2: given}, frozenset(), frozenset({1}), words)


def told(step: int, phase: str, role: str) -> dict[str, Any]:
    """All that a page of a role is sent for a place."""
    at = snapshot(step, phase)
    mine = mine_for(at, 2 if role == "learner" else None)
    return {**state_for(at, LESSON, role), "counts": counts_for(at, LESSON, role), "mine": mine}


def leaks(step: int, phase: str, sent: dict[str, Any]) -> list[str]:
    """What of the step's secrets is in a message although its phase has not come; own written-down lists, not the code's."""
    text, number, asks = json.dumps(sent), step + 1, LESSON["steps"][step]["kind"] == "ask"
    later = {name: not asks or ASK_PHASES.index(phase) < ASK_PHASES.index(name) for name in ("bars", "look", "reveal")}
    found = [word for word in ("say",) if f"{SECRET} {word}" in text]
    if later["look"]:
        found += [word for word in (f"{SECRET} look", f"{SECRET} bench") if word in text]
    if later["reveal"]:
        found += [word for word in ("belief", "because", "reason", "reveal") if f"{SECRET} {word}" in text]
        found += [name for name in ("right_first", "right_second") if (sent["bars"] or {}).get(name) is not None]
        found += ["answer"] if sent["view"]["answer"] is not None else []
    found += ["right"] if "right" in sent["view"] else []
    found += ["first_right"] if "first_right" in sent["counts"] else []
    found += ["roster"] if "roster" in sent["counts"] or "fern" in text else []
    if later["bars"] and sent["bars"] is not None:
        found.append("bars")
    pictures = {"look": LESSON["steps"][step]["look"], "reveal": LESSON["steps"][step]["answer"]}
    for name, part in pictures.items():
        if part and later[name]:
            found += [f"{name} picture {number}" for picture in part["pictures"] if picture["id"] in text]
    if "secret" in sent["counts"]["words"]:
        found.append("words not shown")
    return found


@pytest.mark.parametrize("role", ["learner", "wall"])
@pytest.mark.parametrize(("step", "phase"), positions(LESSON))
def test_nothing_is_told_before_its_phase(step: int, phase: str, role: str) -> None:
    assert leaks(step, phase, told(step, phase, role)) == []


def test_a_leak_would_be_found() -> None:
    for step, phase in positions(LESSON):
        if LESSON["steps"][step]["kind"] == "ask" and phase != "reveal":
            assert {"say", "right"} <= set(leaks(step, phase, told(step, phase, "control")))
    early = {**told(1, "vote", "learner"), "view": views.room_view(LESSON, Room("c", "small", 1, "reveal"), "learner")}
    found = set(leaks(1, "vote", early))
    assert {"belief", "because", "reason", "reveal", "answer", "look picture 2", "reveal picture 2"} <= found


def test_each_phase_opens_what_is_its_own() -> None:
    for step in (1, 3, 4, 5):
        sent = {phase: told(step, phase, "learner") for phase in ASK_PHASES}
        assert [phase for phase in ASK_PHASES if sent[phase]["bars"]] == ["bars", "look", "reveal"]
        assert [phase for phase in ASK_PHASES if sent[phase]["view"]["look"]] == ["look", "reveal"]
        assert [phase for phase in ASK_PHASES if sent[phase]["view"]["answer"]] == ["reveal"]
        assert sent["reveal"]["view"]["answer"]["right"] == LESSON["steps"][step]["answer"]["right"]
        assert sent["reveal"]["bars"]["right_first"] == 1.0


def test_who_teaches_is_told_what_to_say_and_from_the_first_vote_on_how_many_were_right() -> None:
    sent = {phase: told(1, phase, "control") for phase in ASK_PHASES}
    assert all(s["view"]["right"] == "B" and SECRET in s["view"]["say"] for s in sent.values())
    assert [sent[phase]["counts"]["first_right"] for phase in ASK_PHASES] == [1.0, 1.0, 1.0, 1.0, 1.0, 1.0]
    assert [bool(sent[phase]["bars"]) for phase in ASK_PHASES] == [False, True, True, True, True, True]
    assert sent["vote"]["counts"]["roster"][0] == {"handle": "otter", "here": True, "answered": True, "done": False}
    assert sent["vote"]["counts"]["words"] == [{"id": 1, "handle": "fern", "text": "secret", "shown": False}]


def test_a_bench_waits_for_the_votes_and_for_leave() -> None:
    def has_bench(step: int, phase: str, **more: Any) -> bool:
        return state_for(snapshot(step, phase, **more), LESSON, "learner")["view"]["bench"] is not None

    assert has_bench(6, "show")
    assert not any(has_bench(1, phase) for phase in ASK_PHASES)
    assert [phase for phase in ASK_PHASES if has_bench(1, phase, roam=True)] == ["look", "reveal"]
    # a mirrored scene is a picture that is sent; it opens nobody's own bench
    assert not has_bench(1, "vote", mirror={"channel.0.pulse.amplitude_ma": 20.0})
    assert state_for(snapshot(1, "vote"), LESSON, "control")["view"]["bench"] is not None


def test_pictures_are_named_and_their_data_stay() -> None:
    view = told(1, "vote", "learner")["view"]
    assert set(view["pictures"][0]) == {"id", "kind", "title", "text"}
    assert set(told(5, "vote", "learner")["view"]["question"]["on"]) == {"id", "kind", "title", "text"}
    found = views.pictures_of(LESSON)
    assert view["pictures"][0]["id"] in found
    assert LESSON["steps"][5]["question"]["on"]["id"] in found
    assert found[LESSON["steps"][1]["answer"]["pictures"][0]["id"]]["lines"] == [f"{SECRET} reveal 2 line"]


def test_people_see_what_they_sent_and_counts_of_the_open_round() -> None:
    at = snapshot(1, "vote")
    mine = {"answer": {"choice": "B"}, "sure": 2}
    assert mine_for(at, 1) == {"1": mine, "2": mine, "done": False}
    assert mine_for(at, 2) == mine_for(at, None) == {"1": None, "2": None, "done": False}
    assert counts_for(at, LESSON, "wall") == {"joined": 2, "here": 1, "answered": 1, "done": 0, "of": 1, "words": []}
    one = replace(at, answers={1: at.answers[1], 2: {}})
    assert [len(replace(one, room=replace(at.room, phase=p)).answered) for p in ASK_PHASES] == [1, 1, 0, 1, 1, 1]
