"""What of a lesson nobody may know yet, and whether any of it was shown or sent."""

from __future__ import annotations

import html
import json
import re
from collections.abc import Iterator, Mapping
from typing import Any

from browser_people import Person

PHASES = ("", "show", "vote", "talk", "again", "bars", "look", "reveal")

Lesson = dict[str, Any]


def plain(text: str) -> str:
    """HTML as the words that are read."""
    return " ".join(html.unescape(re.sub(r"<[^>]+>", "", text)).split())


def strings(value: Any) -> Iterator[str]:
    if isinstance(value, str):
        yield value
    elif isinstance(value, Mapping):
        for one in value.values():
            yield from strings(one)
    elif isinstance(value, list):
        for one in value:
            yield from strings(one)


class Secrets:
    """What each step keeps for its look and for its reveal, as sentences and names of pictures that stand nowhere before."""

    def __init__(self, lesson: Lesson) -> None:
        open_to_all = " ".join(
            plain(text) for step in lesson["steps"]
            for text in strings([step["title"], step["html"], step["pictures"], step["question"]]))
        late = [" ".join(plain(text) for text in strings([step["look"], step["answer"]])) for step in lesson["steps"]]
        elsewhere = [" ".join([open_to_all, *late[:at], *late[at + 1:]]) for at in range(len(late))]
        self.look = [self._kept(step["look"], elsewhere[at]) for at, step in enumerate(lesson["steps"])]
        self.reveal = [self._kept(step["answer"], elsewhere[at]) for at, step in enumerate(lesson["steps"])]
        self.say = {part for step in lesson["steps"] for part in self._parts(step["say"] or "")}

    @staticmethod
    def _parts(text: str) -> set[str]:
        if re.fullmatch("[0-9a-f]{32}", text):
            return {text}
        return {part for part in re.split(r"(?<=[.?])\s", plain(text)) if len(part) >= 25}

    def _kept(self, part: Any, elsewhere: str) -> set[str]:
        return {sentence for text in strings(part) for sentence in self._parts(text) if sentence not in elsewhere}


def assert_nothing_early(secrets: Secrets, phases: Mapping[int, str], text: str, where: str) -> None:
    """`phases` gives how far each step has come; all others have not begun."""
    for step, (look, reveal) in enumerate(zip(secrets.look, secrets.reveal, strict=True)):
        reached = phases.get(step, "")
        hidden = set() if reached == "reveal" else reveal if reached == "look" else reveal | look
        early = [one for one in hidden if one in text]
        assert early == [], (where, step, reached)
    assert [one for one in secrets.say if one in text] == [], where


def assert_frames_keep_it(secrets: Secrets, person: Person) -> None:
    """Every message that a page got, in the order it came: nothing of a step's answer before its phase."""
    phases: dict[int, str] = {}
    states = 0
    for frame in person.frames:
        message = json.loads(frame)
        state = message.get("state") if message["type"] == "welcome" else message
        if message["type"] in ("welcome", "state"):
            states += 1
            step, phase, view = state["step"], state["phase"], state["view"]
            phases[step] = max(phases.get(step, ""), phase, key=PHASES.index)
            assert (view["answer"] is None) == (phase != "reveal")
            assert (view["look"] is None) == (phase not in ("look", "reveal"))
            assert (state["bars"] is None) == (phase not in ("bars", "look", "reveal"))
            assert not {"say", "right"} & set(view)
            if state["bars"] is not None and phase != "reveal":
                assert state["bars"]["right_first"] is state["bars"]["right_second"] is None
        assert not {"roster", "first_right"} & set((state or {}).get("counts") or message)
        assert_nothing_early(secrets, phases, " ".join(plain(text) for text in strings(message)), "a message")
    assert states > 30
