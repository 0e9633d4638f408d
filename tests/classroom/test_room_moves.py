"""A room's moves: every place reached in order, answers taken only where they belong."""

from __future__ import annotations

import pytest
from room_lesson import lesson

from graspwave.apps.classroom.room import (
    ASK_PHASES,
    Room,
    RoomError,
    back,
    begun,
    closed,
    forward,
    go,
    mirrored,
    phases_of,
    positions,
    refusal,
    switched,
    timed,
)
from graspwave.apps.told.room_time import room_minutes

LESSON = lesson()
START = Room("plum-river-42", "small")


def test_a_step_that_asks_has_its_phases_and_look_only_with_a_picture() -> None:
    assert phases_of(LESSON["steps"][1]) == ASK_PHASES
    assert phases_of(LESSON["steps"][2]) == ("vote", "talk", "again", "bars", "reveal")
    assert phases_of(LESSON["steps"][0]) == phases_of(LESSON["steps"][6]) == phases_of(LESSON["steps"][7]) == ("show",)


def test_forward_and_back_pass_every_place_once() -> None:
    room, seen = START, [(START.step, START.phase)]
    while (after := forward(room, LESSON)) != room:
        room = after
        seen.append((room.step, room.phase))
    assert tuple(seen) == positions(LESSON)
    for place in reversed(seen):
        assert (room.step, room.phase) == place
        room = back(room, LESSON)
    assert (room.step, room.phase) == (0, "show")


def test_each_move_raises_the_version_and_standing_still_does_not() -> None:
    room = go(START, LESSON, 1, "vote")
    assert room.version == START.version + 1
    assert go(room, LESSON, 1, "vote") is room
    assert switched(room, paused=True).version == room.version + 1
    assert switched(room, paused=False) is room
    assert mirrored(room, {"a": 1.0}).version == room.version + 1
    assert closed(room).version == room.version + 1
    assert closed(closed(room)) == closed(room)


def test_a_new_step_takes_mirror_and_leave_to_roam_away_and_a_new_phase_does_not() -> None:
    room = switched(mirrored(go(START, LESSON, 1), {"a": 1.0}), roam=True, words=True)
    same = go(room, LESSON, 1, "talk")
    assert same.mirror == {"a": 1.0}
    assert same.roam
    other = go(room, LESSON, 2)
    assert (other.mirror, other.roam, other.words) == (None, False, True)


@pytest.mark.parametrize(("step", "phase", "text"), [
    (8, None, "This lesson has 8 steps."),
    (-1, None, "This lesson has 8 steps."),
    (2, "look", "This step has no such part. It has vote, talk, again, bars, reveal."),
    (0, "vote", "This step has no such part. It has show."),
])
def test_a_place_that_is_not_there(step: int, phase: str | None, text: str) -> None:
    with pytest.raises(RoomError) as caught:
        go(START, LESSON, step, phase)
    assert str(caught.value) == text


def test_an_ended_room_moves_no_more() -> None:
    room = closed(START)
    for move in (lambda: go(room, LESSON, 1), lambda: switched(room, paused=True), lambda: mirrored(room, None)):
        with pytest.raises(RoomError, match=r"^This room has ended\.$"):
            move()


@pytest.mark.parametrize("phase", ASK_PHASES)
@pytest.mark.parametrize("turn", [1, 2])
def test_answers_are_taken_in_the_phase_of_their_round_only(phase: str, turn: int) -> None:
    room = go(START, LESSON, 1, phase)
    taken = (phase, turn) in (("vote", 1), ("again", 2))
    late = "This vote is closed: its answer has been shown." if phase in ("look", "reveal") else "Too late: this vote is closed."
    assert refusal(room, 1, turn) == (None if taken else late)


def test_a_vote_is_closed_for_good_once_its_answer_is_shown() -> None:
    room = go(go(go(START, LESSON, 1, "bars"), LESSON, 1, "vote"), LESSON, 1, "again")
    assert refusal(room, 1, 2) is None  # the bars do not tell what is right
    for shown in ("look", "reveal"):
        after = go(go(room, LESSON, 1, shown), LESSON, 2)
        for phase, turn in (("vote", 1), ("again", 2)):
            back_again = go(after, LESSON, 1, phase)
            assert refusal(back_again, 1, turn) == "This vote is closed: its answer has been shown."
        assert refusal(go(after, LESSON, 2, "vote"), 2, 1) is None


def test_the_clock_runs_while_the_lesson_does_and_each_place_keeps_its_time() -> None:
    room = Room("c", "small", gathering=True)
    assert refusal(room, 0) == "The lesson has not begun yet."

    def at(now: float, after: Room) -> Room:
        nonlocal room
        room = timed(room, after, now)
        return room

    at(1000.0, begun(room))  # as long as people gather nothing is counted
    assert (room.gathering, room.spent, room.since) == (False, {}, 1000.0)
    at(1060.0, go(room, LESSON, 1, "vote"))
    at(1090.0, switched(room, paused=True))
    at(5000.0, switched(room, paused=False))  # a pause costs nothing
    at(5030.0, go(room, LESSON, 1, "talk"))
    at(5040.0, go(room, LESSON, 0))  # back: the first step goes on where it was
    at(5055.0, go(room, LESSON, 1, "talk"))
    at(5060.0, closed(room))
    assert room.spent == {"0 show": 75.0, "1 vote": 60.0, "1 talk": 15.0}
    assert room.since is None


def test_a_question_takes_six_minutes_in_a_room_at_least() -> None:
    assert [room_minutes({"kind": kind, "minutes": m}) for kind, m in (("ask", 4), ("ask", 8), ("tell", 2))] == [6.0, 8.0, 2.0]

def test_why_something_is_not_taken() -> None:
    vote = go(START, LESSON, 1, "vote")
    assert refusal(vote, 2, 1) == "The room is at another step now."
    assert refusal(switched(vote, paused=True), 1, 1) == "The room is paused. Wait until it goes on."
    assert refusal(closed(vote), 1, 1) == "This room has ended."
    assert refusal(START, 0, 1) == "Nothing is asked now."
    assert refusal(START, 0) is None
