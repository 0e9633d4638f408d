"""Lessons as tables of plain values: shape, answers, the cache, and the bench."""

from __future__ import annotations

import dataclasses
import json
import subprocess
import sys
import time
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from graspwave import lessons
from graspwave import simulator as sim
from graspwave.apps.teach import compiled as made
from graspwave.apps.teach.bench import bench, setting_of
from graspwave.apps.told.live_hand import AMPLITUDE, LIVE_MA, live
from graspwave.lessons.grammar import Choice, Computed, Picture, Question, Step, WrongIdea
from graspwave.lessons.vocabulary import NAMES

S, T = NAMES["s"], NAMES["t"]


def a_picture(kind: str, when: str, **values: Any) -> Picture:
    return Picture(kind, "", "", when, values)


def a_step(number: int, question: Question | None, pictures: tuple[Picture, ...] = (), **more: Any) -> Step:
    given = {"kind": "ask" if question else "tell", "minutes": 5.0, "text": "A *pulse*.", "say": "Say it.", "scene": None,
             "free": (), "look": "What did you see?", "reveal": "So it **is**."}
    given |= more
    return Step(number=number, title=f"Step {number}", question=question, pictures=pictures, **given)


ONE = Question(
    "one", "Which?", (Choice("A", "more", "it is **not** so", "M2", None), Choice("B", "less", "", "", T(amp=14))), "B",
    None, None, None, "", None,
)


def a_lesson(*steps: Step) -> Computed:
    return Computed(
        "made-up", "Made up", "0" * 16, 10.0, (1,), ("students",), ("see a *claw*",), "Nothing.",
        (WrongIdea("M2", "More is more."),),
        (lessons.grammar.Basis("A study.", "published"),), ("One hand.",), ("Stop on pain.",), steps,
    )


@pytest.fixture
def whole() -> dict[str, Any]:
    asked = a_step(1, ONE, (
        a_picture("curve", "start", scenes={"tight": T}, at=14.0, cover=True),
        a_picture("curve", "look", scenes={"tight": T}, at=14.0), a_picture("hand", "reveal", scene=T(amp=14)),
    ))
    told = a_step(2, None, (a_picture("hand", "reveal", scene=T(amp=14)),), scene=T(amp=14.5), free=(AMPLITUDE,), kind="roam")
    return made.compile_lesson(a_lesson(asked, told))


# ---- shape

def test_the_table_is_plain_and_whole(whole: dict[str, Any]) -> None:
    assert json.loads(json.dumps(whole, allow_nan=False)) == whole
    assert whole.keys() == made._KEYS
    assert whole["for"] == ["students"]
    assert whole["wrong_ideas"] == [{"key": "M2", "text": "More is more."}]
    assert whole["basis"] == [{"html": "<p>A study.</p>\n", "mark": "published"}]
    step = whole["steps"][0]
    assert step.keys() == {
        "number", "title", "kind", "minutes", "html", "say", "alone", "pictures", "question", "look", "answer", "bench",
    }
    assert step["html"] == '<p>A <em><span class="tw" data-term="pulse">pulse</span></em>.</p>\n'
    assert step["question"]["choices"][0] == {"key": "A", "html": "<p>more</p>\n", "hand": None}
    assert step["question"]["choices"][1]["hand"]["opening"]["mm"] > 30
    assert step["bench"] is None


def test_the_answer_stays_apart_from_the_question(whole: dict[str, Any]) -> None:
    step = whole["steps"][0]
    assert "right" not in json.dumps(step["question"])
    answer = step["answer"]
    assert answer["right"] == "B"
    assert {key: choice["right"] for key, choice in answer["choices"].items()} == {"A": False, "B": True}
    assert answer["choices"]["A"]["belief"] == lessons.misconceptions()["M2"]
    assert "<strong>not</strong>" in answer["choices"]["A"]["html"]
    assert [p["kind"] for p in answer["pictures"]] == ["hand"]
    assert [p["covered"] for p in step["pictures"]] == [True]
    assert [p["covered"] for p in step["look"]["pictures"]] == [False]


def test_a_drawn_guess_is_shared_by_the_covered_and_the_open_curve(whole: dict[str, Any]) -> None:
    step = whole["steps"][0]
    assert step["pictures"][0]["guess"] == step["look"]["pictures"][0]["guess"] == "made-up/1"
    assert "guess" not in step["answer"]["pictures"][0]


def test_a_step_without_a_question_shows_all_at_once(whole: dict[str, Any]) -> None:
    step = whole["steps"][1]
    assert step["answer"] is None
    assert step["look"] is None
    assert [p["kind"] for p in step["pictures"]] == ["hand"]
    assert "So it <strong>is</strong>" in step["html"]


def test_pictures_are_found_by_id(whole: dict[str, Any]) -> None:
    found = made.pictures_of(whole)
    assert len(found) == 3  # the same hand twice is one picture
    assert all(key == one["id"] for key, one in found.items())


@pytest.mark.parametrize(("question", "right", "flags"), [
    (dataclasses.replace(ONE, kind="several", right=("A", "B")), ["A", "B"], [True, True]),
    (dataclasses.replace(ONE, kind="order", right=("B", "A")), ["B", "A"], [False, False]),
    (dataclasses.replace(ONE, kind="number", choices=(), right={"value": 12.5, "tolerance": 1.0}),
     {"value": 12.5, "tolerance": 1.0}, []),
])
def test_other_kinds_of_answers(question: Question, right: Any, flags: list[bool]) -> None:
    answer = made.compile_lesson(a_lesson(a_step(1, question)))["steps"][0]["answer"]
    assert answer["right"] == right
    assert [choice["right"] for choice in answer["choices"].values()] == flags


@pytest.mark.parametrize(("y", "place"), [(None, "x"), (40.0, "xy")])
def test_a_place_is_asked_for_along_one_axis_or_two(y: float | None, place: str) -> None:
    right = {"x": 14.0, "y": y, "within_x": 2.0, "within_y": None if y is None else 5.0}
    on = a_picture("curve", "start", scenes={"tight": T}, cover=True)
    question = dataclasses.replace(ONE, kind="place", choices=(), right=right, on=on)
    lesson = made.compile_lesson(a_lesson(a_step(1, question)))
    assert lesson["steps"][0]["question"]["on"]["place"] == place
    assert lesson["steps"][0]["question"]["on"]["id"] in made.pictures_of(lesson)


def test_only_words_that_are_read_are_explained(whole: dict[str, Any]) -> None:
    assert "pulse" in whole["glossary"]
    assert "claw" in whole["glossary"]
    # a bench holds the name of every setting, but nobody reads it
    assert "channel" not in whole["glossary"]


# ---- the lessons that come with the program

def test_a_lesson_is_compiled_and_drawn_without_panel() -> None:
    code = "import sys, apps.teach.compiled, apps.web.source; print('panel' in sys.modules)"
    root = Path(__file__).parents[2]
    found = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True, cwd=root)
    assert found.stdout.strip() == "False"


def test_a_lesson_of_the_program(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("XDG_CACHE_HOME", str(tmp_path))
    monkeypatch.setattr(made, "_done", {})
    slug = lessons.names()[0]
    lesson = made.compiled(slug)
    assert made.compiled(slug) is lesson
    assert len(lesson["steps"]) == len(lessons.load(slug).steps)
    for one in made.pictures_of(lesson).values():
        assert one["title"], one["kind"]
        assert len(json.dumps(one)) < 64_000
    with pytest.raises(KeyError):
        made.compiled("no-such-lesson")


# ---- the cache

@pytest.fixture
def counted(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> list[str]:
    """A cache folder of its own, a small lesson, and a list that grows with every computation."""
    runs: list[str] = []

    def compute(_: object) -> Computed:
        runs.append("run")
        return a_lesson(a_step(1, ONE))

    monkeypatch.setenv("XDG_CACHE_HOME", str(tmp_path))
    monkeypatch.setattr(made, "_done", {})
    monkeypatch.setattr(lessons, "names", lambda: ("made-up",))
    monkeypatch.setattr(lessons, "source", lambda _: "the text")
    monkeypatch.setattr(lessons, "load", lambda _: None)
    monkeypatch.setattr(lessons, "compute", compute)
    return runs


def forget() -> None:
    made._done.clear()


def test_a_second_start_reads_the_first_one_s_work(counted: list[str]) -> None:
    first = made.compiled("made-up")
    assert made.compiled("made-up") is first
    forget()
    assert made.compiled("made-up") == first
    assert counted == ["run"]
    assert [file.suffix for file in made.cache_folder().iterdir()] == [".json"]


@pytest.mark.parametrize("broken", ["", "{", "[]", '{"key": "other", "lesson": {}}', '{"lesson": {"slug": "made-up"}}'])
def test_a_broken_file_is_made_again(counted: list[str], broken: str) -> None:
    first = made.compiled("made-up")
    (file,) = made.cache_folder().iterdir()
    file.write_text(broken, encoding="utf-8")
    forget()
    assert made.compiled("made-up") == first
    assert counted == ["run", "run"]
    forget()
    assert made.compiled("made-up") == first
    assert counted == ["run", "run"]


def test_another_text_is_another_file_and_old_ones_go(counted: list[str], monkeypatch: pytest.MonkeyPatch) -> None:
    for i in range(8):
        monkeypatch.setattr(lessons, "source", lambda _, i=i: f"text {i}")
        forget()
        made.compiled("made-up")
    assert len(counted) == 8
    assert len(list(made.cache_folder().iterdir())) == made._KEPT_FILES


def test_a_folder_that_cannot_be_written_does_not_matter(
    counted: list[str], tmp_path: Path, monkeypatch: pytest.MonkeyPatch,
) -> None:
    (tmp_path / "file").write_text("in the way", encoding="utf-8")
    monkeypatch.setenv("XDG_CACHE_HOME", str(tmp_path / "file"))
    assert made.compiled("made-up")["slug"] == "made-up"
    assert counted == ["run"]


def test_the_digest_follows_text_code_and_numpy(monkeypatch: pytest.MonkeyPatch) -> None:
    first = made.source_digest("a")
    assert made.source_digest("a") == first != made.source_digest("b")
    made._code_digest.cache_clear()
    monkeypatch.setattr(np, "__version__", "0.0")
    assert made.source_digest("a") != first
    made._code_digest.cache_clear()


# ---- the bench

FREE = (AMPLITUDE, "hand.flexor_length_factor", "hand.wrist_held_deg")


def test_a_bench_holds_the_scene_its_settings_and_the_hand() -> None:
    found = bench(T(amp=14.5), FREE)
    assert sim.Scene.loads(found["scene"]) == sim.Scene.loads(T(amp=14.5).dumps())
    assert [s["path"] for s in found["settings"]] == list(FREE)
    current, length, wrist = found["settings"]
    assert (current["low"], current["high"], current["step"], current["value"], current["unit"]) == (0.0, 60.0, 0.5, 14.5, "mA")
    assert length["value"] == 0.95
    assert (wrist["value"], wrist["free_words"]) == (None, "free")
    assert found["live"]["at_ma"] == 14.5
    assert "At 14.5 mA" in found["live"]["text"]
    assert len(json.dumps(found)) < 32_000


def test_live_is_the_model_s() -> None:
    scene = T(amp=14, flex=0.97, wrist=-10)
    found = live(T(amp=14).dumps(), {"hand.flexor_length_factor": 0.97, "hand.wrist_held_deg": -10}, FREE)
    curve = sim.opening_curve(scene, LIVE_MA)
    assert found["opening_mm"] == pytest.approx(curve.opening_mm.tolist(), abs=0.06)
    assert found["angle_deg"]["PIP"] == pytest.approx(curve.angle_deg["PIP"].tolist(), abs=0.06)
    assert found["recruited"]["openers"] == pytest.approx(curve.recruited["EDC"].tolist(), abs=6e-4)
    assert found["wrist_held"] is True
    assert {len(found[key]) for key in ("amplitude_ma", "opening_mm", "points")} == {LIVE_MA.size}
    assert found != live(T(amp=14).dumps(), {}, FREE)


@pytest.mark.parametrize(("settings", "said"), [
    ({"task.mass_kg": 1},
     f"'settings' must be of paths that are free in this step: {', '.join(FREE)} (got 'task.mass_kg'): leave it out"),
    ({"hand.flexor_length_factor": 9}, "'hand.flexor_length_factor' must be 0.9 to 1.05 (got 9)"),
    ({"hand.flexor_length_factor": float("nan")}, "'hand.flexor_length_factor' must be a finite number (got nan)"),
    ({"hand.flexor_length_factor": "wide"},
     "'hand.flexor_length_factor' must be a number (got 'wide'): write it without quotes and unit"),
    ({"hand.flexor_length_factor": True},
     "'hand.flexor_length_factor' must be a number (got True): write it without quotes and unit"),
    ([1], "'settings' must be a table of paths and values (got [1])"),
    ({f"p{i}": 1 for i in range(30)}, "'settings' must be at most 24 paths (got 30)"),
])
def test_what_cannot_be_set_is_said(settings: Any, said: str) -> None:
    with pytest.raises(sim.SceneError) as caught:
        live(T.dumps(), settings, FREE)
    assert str(caught.value) == said


@pytest.mark.parametrize(("path", "said"), [
    ("hand.wings", "'hand.wings' must be a path of a setting (got unknown path): for example channel.0.pulse.phase_us"),
    ("hand", "'hand' must be a path of a single setting (got a whole section): name one setting of it"),
    ("title", "'title' must be a number or one of a few choices (got a name): leave it out of what is free"),
])
def test_paths_that_are_no_settings(path: str, said: str) -> None:
    with pytest.raises(sim.SceneError) as caught:
        setting_of(T.replace("title", "a name"), path)
    assert str(caught.value) == said


def test_choices_and_every_number_of_a_scene_can_be_free() -> None:
    assert setting_of(S, "channel.0.pads.swap")["choices"] == [[False, "as set"], [True, "swapped"]]
    assert live(S.dumps(), {"channel.0.pulse.shape": "monophasic"})["opening_mm"]
    from graspwave.lessons.compute import _settings

    for path in _settings(S):
        found = setting_of(S, path)
        assert found["low"] < found["high"], path
        assert found["step"] > 0, path
        assert found["value"] is None or found["low"] <= found["value"] <= found["high"], path


def test_live_costs_little_beside_the_curve_itself() -> None:
    # a ratio in one run: what is measured is what the bench adds, not this machine
    def least(work: Any) -> float:
        times = []
        for i in range(5):
            start = time.perf_counter()
            work(0.93 + 0.001 * i)
            times.append(time.perf_counter() - start)
        return min(times)

    text = S.dumps()
    curve = least(lambda v: sim.opening_curve(S.replace("hand.flexor_length_factor", v + 0.0001), LIVE_MA))
    whole = least(lambda v: live(text, {"hand.flexor_length_factor": v}))
    assert whole < 3.0 * curve
