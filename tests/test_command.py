"""The command: files of a run, and bad input that leaves nothing behind."""

from __future__ import annotations

import csv
import gc
import json
import os
import re
import subprocess
import sys
from pathlib import Path

import pytest

from graspwave import simulator as sim
from graspwave.apps import begin, notices
from graspwave.apps.command import main


@pytest.mark.parametrize("key", ["supple", "stiff", "tight", "trial"])
def test_a_preset_runs_into_files(key: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["run", key, "--out", str(tmp_path / "out"), "--minutes", "0.5"]) == 0
    out = tmp_path / "out"
    assert {p.name for p in out.iterdir()} == {"run.csv", "summary.json", "report.html", "scene.toml"}
    first, header, *rows = (out / "run.csv").read_text("utf-8").splitlines()
    assert first == f"# {notices.caution_text()}"
    names = next(csv.reader([header]))
    assert names[:2] == ["time [s]", "current of channel 1 [mA]"]
    assert all(re.search(r"\[.+\]$", name) for name in names)
    assert len(rows) > 1000
    assert all(len(row.split(",")) == len(names) for row in rows[:5])
    summary = json.loads((out / "summary.json").read_text("utf-8"))
    assert summary["caution"] == notices.caution_text()
    assert sim.Scene.loads(summary["scene_toml"]) == sim.Scene.load(out / "scene.toml")
    assert str(out / "run.csv") in capsys.readouterr().out


def test_the_report_asks_for_nothing_from_outside(tmp_path: Path, page) -> None:  # type: ignore[no-untyped-def]
    assert main(["run", "tight", "--out", str(tmp_path), "--minutes", "0.5"]) == 0
    asked: list[str] = []
    errors: list[str] = []
    page.on("request", lambda request: asked.append(request.url))
    page.on("pageerror", lambda error: errors.append(str(error)))
    page.goto((tmp_path / "report.html").as_uri())
    page.locator("canvas").first.wait_for(state="attached")
    assert [url for url in asked if not url.startswith(("file:", "data:", "blob:"))] == []
    assert errors == []
    assert notices.CAUTION_FIRST in page.locator("body").inner_text()


@pytest.mark.parametrize(
    ("content", "line"),
    [
        (b"", "graspwave: 'channel' must be given at least once (got no channel): add [[channel]]\n"),
        (b"\xff\xfe\x00", "graspwave: 'scene' must be a text file in UTF-8 (got other bytes at 0): save it as UTF-8\n"),
        (b"[[channel]]\n[channel.pulse]\nfase_us = 3\n",
         "graspwave: 'channel.0.pulse.fase_us' must be a known key (got unknown key): did you mean phase_us?\n"),
        (b"[[channel]]\n[channel.pulse]\namplitude_ma = nan\n",
         "graspwave: 'channel.0.pulse.amplitude_ma' must be 0 to 60 (got nan)\n"),
        (b"[[channel]]\n[channel.pulse]\namplitude_ma = -1\n",
         "graspwave: 'channel.0.pulse.amplitude_ma' must be 0 to 60 (got -1)\n"),
        (b"[[channel]]\n[channel.pulse]\namplitude_ma = 'much'\n", "graspwave: 'channel.0.pulse.amplitude_ma' must be a number "
         "in mA (got 'much'): write it without quotes and unit\n"),
    ],
)
def test_a_bad_scene_is_one_line_and_no_file(
    content: bytes, line: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    path = tmp_path / "scene.toml"
    path.write_bytes(content)
    assert main(["run", str(path), "--out", str(tmp_path / "out")]) == 2
    said = capsys.readouterr()
    assert said.err == line
    assert said.out == ""
    assert not (tmp_path / "out").exists()


def test_a_missing_file_is_one_line(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    path = tmp_path / "none.toml"
    assert main(["run", str(path), "--out", str(tmp_path / "out")]) == 2
    assert capsys.readouterr().err == f"graspwave: '{path}' must be usable (got No such file or directory)\n"


def test_facts_prints_value_unit_mark_and_source(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["facts", "pulse", "gap_us"]) == 0
    said = capsys.readouterr().out
    assert said.startswith(notices.caution_text())
    assert "settings.pulse.gap_us = 0 us  (practice)  [(authors not seen) 2019: Optimizing neuromuscular" in said


def test_the_audit_names_what_cannot_be_looked_up(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["facts", "--audit", "pulse", "gap_us"]) == 1
    said = capsys.readouterr().out.splitlines()
    assert said[0] == notices.caution_text()
    assert said[1].startswith("gap-2019: (authors not seen) 2019: Optimizing")
    assert said[2:] == [
        "    settings.pulse.gap_us (practice)",
        "1 numbers: 1 on 1 incomplete sources, 0 called published on 0 recalled sources, 0 recalled without a source.",
    ]


def test_an_audit_that_finds_nothing_says_so(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["facts", "--audit", "letting_go"]) == 0
    assert len(capsys.readouterr().out.splitlines()) == 2


def test_a_bad_port_is_one_line(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["open", "--port", "99999", "--no-browser"]) == 2
    assert capsys.readouterr().err == "graspwave: 'port' must be 0 to 65535 (got 99999)\n"


def test_a_start_looks_seldom_for_garbage(monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]) -> None:
    usual = gc.get_threshold()
    monkeypatch.setattr(sys, "argv", ["graspwave", "facts", "letting_go"])
    try:
        assert begin.main() == 0
        assert gc.isenabled()
        assert gc.get_threshold()[0] >= 10 * 700  # as Python would by itself, up to 3.11
    finally:
        gc.set_threshold(*usual)


def test_the_pages_are_served_with_an_allocator_that_gives_back(monkeypatch: pytest.MonkeyPatch) -> None:
    """Begun anew once, with the same arguments; where somebody chose an allocator, or the system's is another, not at all."""
    begun: list[list[str]] = []
    monkeypatch.setattr(os, "execv", lambda program, arguments: begun.append([program, *arguments]))
    given = ["open", "--port", "0"]
    monkeypatch.setattr(begin.platform, "libc_ver", lambda: ("glibc", "2.36"))
    monkeypatch.delenv("PYTHONMALLOC", raising=False)
    begin.lean(given)
    assert begun == [[sys.executable, sys.executable, "-m", "graspwave.apps.begin", *given]]
    assert os.environ["PYTHONMALLOC"] == "malloc"
    begin.lean(given)  # the process that was begun: what it begins itself is left alone
    assert (len(begun), "PYTHONMALLOC" in os.environ) == (1, False)
    monkeypatch.setenv("PYTHONMALLOC", "pymalloc")
    begin.lean(given)
    monkeypatch.delenv("PYTHONMALLOC")
    monkeypatch.setattr(begin.platform, "libc_ver", lambda: ("", ""))
    begin.lean(given)
    assert len(begun) == 1


def test_the_process_that_serves_is_begun_before_anything_heavy_is_loaded() -> None:
    code = """if True:
        import os, sys
        def begun(program, arguments):
            print(arguments[1:], sorted({"numpy", "panel", "graspwave.simulator"} & set(sys.modules)))
            sys.exit(0)
        os.execv = begun
        import platform
        platform.libc_ver = lambda: ("glibc", "2.36")
        sys.argv = ["graspwave", "open", "--port", "0"]
        from graspwave.apps.begin import main
        main()"""
    env = {name: value for name, value in os.environ.items() if name != "PYTHONMALLOC"}
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, env=env, check=True)
    assert done.stdout == "['-m', 'graspwave.apps.begin', 'open', '--port', '0'] []\n"
