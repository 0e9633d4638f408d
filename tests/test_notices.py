"""The one list of notices: every limit of every channel, whatever page or file tells it."""

from __future__ import annotations

from pathlib import Path

import pytest

from graspwave import simulator as sim
from graspwave.apps.command import main
from graspwave.apps.desk.state import DeskState
from graspwave.apps.explore.dose_table import limit_rows
from graspwave.apps.told.account import told

STRONG = {"pads.size_cm2": 4.0, "pulse.amplitude_ma": 60.0, "pulse.phase_us": 100.0}


def scene_with(channel: int, **more: object) -> sim.Scene:
    """Two channels, both gentle but the one that is given small pads and the strongest current."""
    scene = sim.presets()["tight"]
    calm = scene.replace("channel.0.pulse.amplitude_ma", 5.0).channel[0]
    scene = scene.replace("channel", (calm, calm))
    for path, value in {**STRONG, **more}.items():
        scene = scene.replace(f"channel.{channel}.{path}", value)
    return scene


@pytest.mark.parametrize("channel", [0, 1])
def test_every_channel_is_told_of(channel: int) -> None:
    notices = [n for n in sim.notices_of(scene_with(channel)) if n.kind == "over"]
    assert {n.channel for n in notices} == {channel}
    assert "voltage" in {n.key for n in notices}


def test_pages_sheet_table_and_list_tell_the_same() -> None:
    scene = scene_with(1)
    notices = sim.notices_of(scene)
    assert DeskState(scene).notices == notices
    rows = limit_rows(scene)
    assert [row["text"] for row in rows] == [n.text for n in notices]
    assert all(row["quantity"].endswith("channel\N{NO-BREAK SPACE}2") for row in rows if row["kind"] == "over")
    assert "voltage" in told(scene).limits


@pytest.mark.parametrize("channel", [0, 1])
def test_the_report_of_a_run_tells_of_the_output_and_of_both_channels(channel: int, tmp_path: Path) -> None:
    scene = scene_with(channel)
    (tmp_path / "scene.toml").write_text(scene.dumps(), "utf-8")
    assert main(["run", str(tmp_path / "scene.toml"), "--out", str(tmp_path / "out"), "--minutes", "0.5"]) == 0
    page = (tmp_path / "out" / "report.html").read_text("utf-8")
    assert f"Channel {channel + 1}: The current asks for " in page
    assert page.count("<b>Past the limit.</b>") == sum(n.kind == "over" for n in sim.notices_of(scene))


def test_what_a_scene_says_of_itself_is_text_in_the_report_and_nothing_else(tmp_path: Path) -> None:
    scene = sim.presets()["tight"].replace("title", "<script>alert(1)</script>").replace("story", "a & b <img src=x>")
    (tmp_path / "scene.toml").write_text(scene.dumps(), "utf-8")
    assert main(["run", str(tmp_path / "scene.toml"), "--out", str(tmp_path / "out"), "--minutes", "0.5"]) == 0
    page = (tmp_path / "out" / "report.html").read_text("utf-8")
    assert "<script>alert(1)" not in page
    assert "<img src=x>" not in page
    assert "&lt;script&gt;alert(1)" in page


def test_worst_first_and_every_key_is_known() -> None:
    notices = sim.notices_of(scene_with(0, **{"pads.contact": "dried", "pulse.shape": "monophasic", "pads.spacing_mm": 10.0}))
    order = [("over", "close", "inside").index(n.kind) for n in notices]
    assert order == sorted(order)
    assert {n.key for n in notices} == {
        "density", "power", "rms", "energy", "charge", "spacing", "dc", "net", "voltage", "contact"}
