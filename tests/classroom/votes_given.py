"""What everybody voted in a lesson, and what of it is right."""

from __future__ import annotations

from collections import Counter
from typing import Any

from kept_back import plain

Step = dict[str, Any]


def keys_of(step: Step) -> list[str]:
    return [choice["key"] for choice in step["question"]["choices"]]


def right_of(step: Step) -> list[str]:
    right = step["answer"]["right"]
    return [right] if isinstance(right, str) else list(right)


def wrong_of(step: Step, way: int) -> list[str]:
    """A wrong answer, `way` chooses which."""
    keys, right = keys_of(step), right_of(step)
    if step["question"]["kind"] == "order":
        return [keys, [keys[0], keys[2], keys[1]]][way % 2]
    others = [key for key in keys if key not in right]
    if step["question"]["kind"] == "several":
        return [right[0], others[way % len(others)]]
    return [others[way % len(others)]]


def words_of(step: Step, keys: list[str]) -> str:
    """Keys as the pages say an answer."""
    says = {c["key"]: f"{c['key']} “{plain(c['html']).removesuffix('.')}”" for c in step["question"]["choices"]}
    order = step["question"]["kind"] == "order"
    return (", then " if order else " and ").join(says[key] for key in (keys if order else sorted(keys)))


def both_rounds(votes: Votes, at: int) -> tuple[list[list[str]], list[list[str]]]:
    """The votes of those who answered twice, counted by hand; all of the first round where nobody did."""
    first, second = votes.given.get((at, 1), {}), votes.given.get((at, 2), {})
    twice = [who for who in first if who in second]
    return ([first[who] for who in twice], [second[who] for who in twice]) if twice else (list(first.values()), [])


def counted(step: Step, votes: list[list[str]]) -> Counter[str]:
    """How often each row of the bars was voted for."""
    if step["question"]["kind"] == "order":
        return Counter(", ".join(keys) for keys in votes)
    says = {choice["key"]: plain(choice["html"]) for choice in step["question"]["choices"]}
    return Counter(says[key] for keys in votes for key in keys)


class Votes:
    """Every answer that the server has taken: by step and round, by person."""

    def __init__(self) -> None:
        self.given: dict[tuple[int, int], dict[str, list[str]]] = {}

    def note(self, step: int, turn: int, who: str, keys: list[str]) -> None:
        self.given.setdefault((step, turn), {})[who] = keys

    def of(self, step: int, turn: int) -> list[list[str]]:
        return list(self.given.get((step, turn), {}).values())
