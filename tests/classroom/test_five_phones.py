"""The whole claw lesson with five phones through the command's own server; its report equals a count made here by hand.

One phone joins late, one sleeps through two steps and ten minutes and comes back, the educator goes back to a revealed question
where somebody tries to answer again, and hands the lead to a second device.
"""

from __future__ import annotations

import csv
import io
import json
import sqlite3
from collections import Counter
from collections.abc import Iterator
from contextlib import closing
from pathlib import Path
from typing import Any

import pytest
from room_clients import Person, join, post, run
from serving import COMMAND, served

from graspwave.apps.teach.compiled import compiled

ROUNDS = {"vote": 1, "again": 2}
SLEPT_S = 600.0
PHASES = ("vote", "talk", "again", "bars", "look", "reveal")


@pytest.fixture(scope="module")
def lesson() -> dict[str, Any]:
    return compiled("claw")


@pytest.fixture(scope="module")
def store(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return tmp_path_factory.mktemp("five") / "rooms.db"


@pytest.fixture(scope="module")
def http(lesson: dict[str, Any], store: Path) -> Iterator[str]:
    with served((*COMMAND, "--store", str(store))) as where:
        yield where.removesuffix("/explore")


def answer_of(question: dict[str, Any], number: int) -> dict[str, Any]:
    """An answer that depends on a number only, whatever is right."""
    keys = [choice["key"] for choice in question["choices"]]
    if question["kind"] == "one":
        return {"choice": keys[number % len(keys)]}
    if question["kind"] == "several":
        return {"choices": sorted({keys[number % len(keys)], keys[(number + 1) % len(keys)]})}
    turn = number % len(keys)
    return {"order": [*keys[turn:], *keys[:turn]]}


def ten_minutes_pass(store: Path) -> None:
    """Everything that the store keeps a time of lies ten minutes further back, as if its clock had gone on."""
    with closing(sqlite3.connect(store, timeout=20.0)) as kept, kept:
        kept.execute("UPDATE learners SET joined = joined - ?", (SLEPT_S,))
        kept.execute("UPDATE rooms SET opened = opened - ?, expires = expires - ?", (SLEPT_S, SLEPT_S))
        kept.execute("UPDATE answers SET at = at - ?", (SLEPT_S,))
        kept.execute("UPDATE rooms SET more = json_set(more, '$.since', json_extract(more, '$.since') - ?)", (SLEPT_S,))


def is_right(step: dict[str, Any], answer: dict[str, Any]) -> bool:
    right, kind = step["answer"]["right"], step["question"]["kind"]
    if kind == "one":
        return bool(answer["choice"] == right)
    return bool(answer["choices"] == sorted(right) if kind == "several" else answer["order"] == list(right))


def test_the_report_of_five_phones_equals_a_count_by_hand(http: str, lesson: dict[str, Any], store: Path) -> None:
    live = http.replace("http", "ws")
    given: dict[tuple[int, int], dict[int, dict[str, Any]]] = {}
    asks = [at for at, step in enumerate(lesson["steps"]) if step["question"]]
    assert {step["question"]["kind"] for step in lesson["steps"] if step["question"]} <= {"one", "several", "order"}
    late_from, sleeps = asks[2], (asks[1], asks[2])

    async def whole() -> None:
        opened = json.loads((await post(f"{http}/teach/open", {"lesson": "claw"})).body)
        code, token = opened["code"], opened["token"]
        control = await Person.arrive(live, code, "control", token)
        tokens = [(await join(http, code))[0] for _ in range(4)]
        phones: list[Person | None] = [await Person.arrive(live, code, "learner", mine) for mine in tokens]
        assert (await control.ask(type="begin"))["type"] == "kept"
        for at, step in enumerate(lesson["steps"]):
            if at == sleeps[0]:
                await phones[1].leave()  # type: ignore[union-attr]
                phones[1] = None  # its line is gone for as long as it sleeps
            if at == sleeps[1]:
                ten_minutes_pass(store)
            if at == sleeps[1] + 1:
                phones[1] = await Person.arrive(live, code, "learner", tokens[1])
                assert phones[1].state["step"] == at - 1
                # it slept that long by the room's own clock, and is the same person
                await control.until_state(lambda s: sum(s["clock"]["spent"].values()) > SLEPT_S)
                assert control.state["counts"]["joined"] == 5
            if at not in asks:
                await control.go(at, "show")
                continue
            for phase in PHASES:
                if phase == "look" and not (step["look"] and step["look"]["pictures"]):
                    continue
                await control.go(at, phase)
                if (at, phase) == (late_from, "again"):
                    tokens.append((await join(http, code))[0])
                    phones.append(await Person.arrive(live, code, "learner", tokens[-1]))
                if phase in ROUNDS:
                    await vote(at, step, phase, phones)
        # back to the first question, which was revealed long ago: nothing is taken any more
        for phase, turn in (("vote", 1), ("again", 2)):
            await control.go(asks[0], phase)
            one = phones[0]
            assert one
            await one.until_state(lambda s, phase=phase: (s["step"], s["phase"]) == (asks[0], phase))
            refused = await one.answer(asks[0], turn, answer_of(lesson["steps"][asks[0]]["question"], 99))
            assert (refused["type"], refused["text"]) == ("refused", "This vote is closed: its answer has been shown.")
        # a second device leads, by a code that works once; who shows the wall only does not lead
        invited = await control.ask_for("invited", type="invite", role="control")
        lead = await post(f"{http}/room/lead", {"words": invited["words"].replace("-", " ").upper()})
        second = await Person.arrive(live, code, "control", json.loads(lead.body)["token"])
        assert (await second.ask(type="set", paused=True))["type"] == "kept"
        assert (await second.ask(type="set", paused=False))["type"] == "kept"
        assert (await post(f"{http}/room/lead", {"words": invited["words"]})).code == 404
        wall = json.loads((await post(f"{http}/room/lead", {
            "words": (await control.ask_for("invited", type="invite", role="wall"))["words"]})).body)
        assert wall["role"] == "wall"
        shown = await Person.arrive(live, code, "wall", wall["token"])
        assert (await shown.ask(type="go", step=0))["text"] == "This page cannot do that."
        assert (await post(f"{http}/room/{code}/report", {"token": wall["token"], "as": "csv"})).code == 403
        # somebody does not understand, unasked
        assert (await phones[0].ask(type="unclear", step=asks[0], text="which joint?"))["type"] == "kept"  # type: ignore[union-attr]
        await control.until_state(lambda s: s["counts"]["unclear_now"] == 1)
        assert control.state["counts"]["unclear"] == [{"step": asks[0], "text": "which joint?"}]
        assert (await second.ask(type="end"))["type"] == "kept"
        report = await post(f"{http}/room/{code}/report", {"token": token, "as": "csv"})
        check(code, report.body.decode())

    async def vote(at: int, step: dict[str, Any], phase: str, phones: list[Person | None]) -> None:
        turn = ROUNDS[phase]
        for number, phone in enumerate(phones):
            if phone is None or (number == 3 and (at + turn) % 3 == 0):
                continue  # one of them does not always answer
            await phone.until_state(lambda s: (s["step"], s["phase"]) == (at, phase))
            answer = answer_of(step["question"], number * turn + at)
            assert (await phone.answer(at, turn, answer, number % 3))["type"] == "kept"
            given.setdefault((at, turn), {})[number] = answer

    def check(code: str, text: str) -> None:
        rows = list(csv.DictReader(io.StringIO("".join(line for line in text.splitlines(True) if not line.startswith("#")))))
        assert {row["code"] for row in rows} == {code}
        assert {int(row["question"]) for row in rows} == {at + 1 for at in asks}
        for at in asks:
            step = lesson["steps"][at]
            twice = sorted(set(given[at, 1]) & set(given[at, 2]))
            assert twice
            shares = {}
            for turn in (1, 2):
                mine = [row for row in rows if (row["kind"], row["question"], row["round"]) == ("answer", str(at + 1), str(turn))]
                said = Counter[str]()
                for number in twice:
                    answer = given[at, turn][number]
                    said.update(answer.get("choices") or [answer["choice"] if "choice" in answer else ", ".join(answer["order"])])
                assert {row["answer"]: int(row["count"]) for row in mine if row["count"] != "0"} == dict(said)
                assert {(int(row["n"]), int(row["n_all"])) for row in mine} == {(len(twice), len(given[at, turn]))}
                shares[turn] = sum(is_right(step, given[at, turn][number]) for number in twice) / len(twice)
                assert {float(row["share_right"]) for row in mine} == {round(shares[turn], 3)}
            pairs = Counter((is_right(step, given[at, 1][n]), is_right(step, given[at, 2][n])) for n in twice)
            told = {row["answer"]: int(row["count"]) for row in rows if (row["kind"], row["question"]) == ("pairs", str(at + 1))}
            assert told == {"wrong, then right": pairs[False, True], "right both times": pairs[True, True],
                            "right, then wrong": pairs[True, False], "wrong both times": pairs[False, False]}
            gain = {row["gain"] for row in rows if row["question"] == str(at + 1)}
            expected = "" if shares[1] == 1 else str(round((shares[2] - shares[1]) / (1 - shares[1]), 3))
            assert gain == {expected}

    run(whole)


def test_the_rooms_of_this_machine_are_led_again_and_reported_from_the_command(
    http: str, store: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str],
) -> None:
    from graspwave.apps.command import main

    async def whole() -> None:
        opened = json.loads((await post(f"{http}/teach/open", {"lesson": "claw", "short": True})).body)
        rooms = json.loads((await post(f"{http}/teach/rooms", {})).body)["rooms"]
        assert rooms[0]["code"] == opened["code"]
        again = json.loads((await post(f"{http}/teach/rooms", {"code": opened["code"]})).body)
        control = await Person.arrive(http.replace("http", "ws"), opened["code"], "control", again["token"])
        # the short version starts on its first step
        assert control.state["step"] == compiled("claw")["short"][0] - 1
        assert (control.state["brief"], control.state["gathering"]) == (True, True)
        code.append(opened["code"])

    code: list[str] = []
    run(whole)
    out = tmp_path / "report.csv"
    assert main(["rooms", "report", code[0], "--store", str(store), "--out", str(out)]) == 0
    assert out.read_text("utf-8").splitlines()[2].startswith("date,lesson,code,question")
    assert main(["rooms", "report", code[0], "--store", str(store), "--out", str(tmp_path / "x.txt")]) == 2
    assert "must be a file that ends in .html or .csv" in capsys.readouterr().err
