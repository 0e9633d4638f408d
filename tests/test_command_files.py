"""The command and files: nothing is written over unasked, nothing half, wrong names told in one line, strangers' lessons end."""

from __future__ import annotations

import os
import subprocess
import sys
import time
from pathlib import Path

import pytest

from graspwave import simulator as sim
from graspwave.apps.classroom.store import default_store
from graspwave.apps.command import main
from graspwave.apps.serve import make_server
from graspwave.apps.written import may_write, write_all
from graspwave.lessons.expressions import Budget, ExpressionError, evaluate

ROOT = Path(__file__).parents[1]


def one_line(capsys: pytest.CaptureFixture[str]) -> str:
    said = capsys.readouterr().err.splitlines()
    assert len(said) == 1, said
    return said[0]


def test_a_file_that_is_there_is_not_written_over_unasked(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    (tmp_path / "run.csv").write_text("mine")
    assert main(["run", "tight", "--out", str(tmp_path), "--minutes", "0.1"]) == 2
    assert "--force" in one_line(capsys)
    assert (tmp_path / "run.csv").read_text() == "mine"
    assert sorted(os.listdir(tmp_path)) == ["run.csv"]
    (tmp_path / "sheet.html").write_text("mine")
    assert main(["sheet", "tight", "--out", str(tmp_path / "sheet.html")]) == 2
    assert "--force" in one_line(capsys)
    may_write([tmp_path / "run.csv"], force=True)
    may_write([tmp_path / "new"], force=False)


def test_files_are_written_whole_or_not_at_all(tmp_path: Path) -> None:
    (tmp_path / "one").write_text("old")
    (tmp_path / "two").mkdir()  # cannot be replaced by a file
    with pytest.raises(OSError, match="two"):
        write_all({tmp_path / "two": "new", tmp_path / "one": "new"})
    assert (tmp_path / "one").read_text() == "old"
    assert sorted(os.listdir(tmp_path)) == ["one", "two"]


NO_FILES = {
    "digits": b"session.minutes = " + b"9" * 400, "nested": b"a = " + b"[" * 500 + b"]" * 500, "bytes": b"\xff\xfe\x00x",
    "pipe": None, "folder": None, "zero": None,
}
"""What is given for a file, and what lies in it."""


@pytest.mark.parametrize("kind", NO_FILES)
def test_what_is_no_scene_and_no_lesson_is_told_in_one_line(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], kind: str,
) -> None:
    path = Path("/dev/zero") if kind == "zero" else tmp_path / f"{kind}.toml"
    if kind == "pipe":
        os.mkfifo(path)
    elif kind == "folder":
        path.mkdir()
    elif kind != "zero":
        path.write_bytes(NO_FILES[kind] or b"")
    for command in (["run", str(path), "--out", str(tmp_path / "out")], ["sheet", str(path), "--out", str(tmp_path / "s.html")]):
        assert main(command) == 2
        assert one_line(capsys).startswith("graspwave: 'scene' must be")
    assert not (tmp_path / "out").exists()
    assert not (tmp_path / "s.html").exists()
    assert main(["check", str(path)]) == (2 if kind in ("zero", "pipe", "folder", "bytes") else 1)
    said = capsys.readouterr()
    assert len((said.out + said.err).splitlines()) == 1


def test_an_unknown_fact_names_the_nearest(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["facts", "frequenzy"]) == 2
    assert "frequency" in one_line(capsys)


def test_looking_into_a_store_makes_none(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    wrong = tmp_path / "typo.sqlite"
    for command in (["rooms", "list"], ["rooms", "delete", "--all"]):
        assert main([*command, "--store", str(wrong)]) == 2
        assert str(wrong) in one_line(capsys)
    assert list(tmp_path.iterdir()) == []


@pytest.mark.parametrize("host", ["192.0.2.77", "no such host", "256.1.1.1"])
def test_a_wrong_host_is_named(host: str) -> None:
    with pytest.raises(sim.SceneError, match=f"'host' must be an address or name of this machine .got '?{host}"):
        make_server(host)


def test_a_user_without_a_folder_is_told_what_to_give(monkeypatch: pytest.MonkeyPatch) -> None:
    def homeless() -> Path:
        raise RuntimeError("Could not determine home directory.")

    monkeypatch.delenv("XDG_DATA_HOME", raising=False)
    monkeypatch.delenv("XDG_CACHE_HOME", raising=False)
    monkeypatch.setattr(Path, "home", homeless)
    with pytest.raises(sim.SceneError, match="--store"):
        default_store()
    from graspwave.apps.teach.compiled import cache_folder

    assert cache_folder().is_dir()


HOSTILE = {
    "round": "round(2, -10**15)", "round up": "round(2.5, 10**15)", "round by a name": "round(2, 1e15)",
    "nested": "(" * 40 + "1," + ",)" * 39 + ")",
}


@pytest.mark.parametrize("text", HOSTILE.values(), ids=HOSTILE)
def test_a_hostile_expression_is_refused_at_once(text: str) -> None:
    began = time.monotonic()
    with pytest.raises(ExpressionError):
        evaluate(text, {"round": round})
    assert time.monotonic() - began < 5.0


def test_lists_doubled_forty_times_are_refused() -> None:
    names: dict[str, object] = {"a0": (1, 2)}

    def doubled() -> None:
        for level in range(40):
            names[f"a{level + 1}"] = evaluate(f"(a{level}, a{level})", names)

    with pytest.raises(ExpressionError, match=r"deep|numbers"):
        doubled()


def test_all_expressions_of_a_lesson_share_their_steps() -> None:
    budget = Budget(steps=1000)

    def many() -> None:
        for _ in range(100):
            evaluate("sum([x * x for x in (1, 2, 3)])", {"sum": sum}, budget)

    with pytest.raises(ExpressionError, match="fewer steps"):
        many()


def test_a_hostile_lesson_ends_in_ten_seconds_of_work(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    names = ["a = \"(1, 2)\""]
    names += [f'a{i} = "[[x * y for x in range_ for y in range_] for z in range_]"'.replace("range_", str(tuple(range(30))))
              for i in range(200)]
    names += ['big = "round(2, -10**15)"', f'deep = "{"(" * 40}1{")" * 40}"']
    front = "\n".join(["+++", 'title = "Hostile"', "[names]", *names, "+++", "## A step", "words"])
    file = tmp_path / "hostile.md"
    file.write_text(front, "utf-8")
    began = time.process_time(), os.times().children_user
    assert main(["check", str(file)]) == 1
    assert os.times().children_user - began[1] < 20.0, "ten seconds on a quiet machine"
    said = capsys.readouterr().out
    assert "hostile.md:" in said
    assert "Traceback" not in said


@pytest.mark.skipif(sys.platform == "win32", reason="this system has no such bounds")
def test_memory_and_time_of_a_checked_lesson_are_bounded() -> None:
    for code in ("x = bytearray(300 << 20)", "while True: pass"):
        script = f"from graspwave.lessons.beside import bounded\nbounded(1, 200 << 20)\n{code}"
        done = subprocess.run([sys.executable, "-c", script], capture_output=True, text=True, cwd=ROOT, check=False, timeout=60,
                              env={**os.environ, "OPENBLAS_NUM_THREADS": "1"})
        assert done.returncode not in (0, 2)
