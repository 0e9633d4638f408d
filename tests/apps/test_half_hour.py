"""Half an hour on the Practise page: the same numbers as the simulator's, in words, strips and a file."""

from __future__ import annotations

import csv

import pytest

from graspwave import simulator as sim
from graspwave.apps import notices
from graspwave.apps.controls import Finding
from graspwave.apps.practise import found as found_page
from graspwave.apps.practise.change_table import ChangeTable, change_rows
from graspwave.apps.practise.found import Found
from graspwave.apps.practise.half_hour import HalfHour, half_hour_csv, half_hour_finding, on_the_timer, sessions_of
from graspwave.apps.practise.state import PractiseState
from graspwave.simulator.practice import run_practice, with_object


@pytest.fixture(scope="module")
def scene() -> sim.Scene:
    return with_object(sim.presets()["stiff"].replace("session.minutes", 10), "bulb")


def test_strips_hold_every_phase_and_the_current(scene: sim.Scene) -> None:
    for drawn, control in zip(sessions_of(scene), ("timed", "held"), strict=True):
        run = run_practice(scene, control)
        assert drawn["figures"][0] == [str(run.repetitions), "put down"]
        assert sum(span[1] for span in drawn["spans"]) == pytest.approx(sum(e.lasts_s for e in run.log), abs=0.01 * len(run.log))
        assert len(drawn["current"]) == len(run.stimulated_s)
        waited = sum(span[1] for span in drawn["spans"] if span[2] == "wait")
        assert waited == pytest.approx(run.waiting_s, abs=0.01 * len(run.log))


def test_finding_names_both_counts(scene: sim.Scene) -> None:
    timed, held = (run_practice(scene, control).repetitions for control in ("timed", "held"))
    assert half_hour_finding(scene).startswith(f"The switch gave {held}, the timer {timed}")


def test_the_file_says_what_it_is_not_for_and_names_units(scene: sim.Scene) -> None:
    first, header, *rows = half_hour_csv(scene).splitlines()
    assert first == f"# {notices.caution_text()}"
    assert "time [s]" in header
    table = list(csv.reader(rows))
    assert {row[0] for row in table} == {"timed", "held"}
    assert len(table) == sum(len(run_practice(scene, c).log) for c in ("timed", "held"))


def test_views_build(scene: sim.Scene) -> None:
    view = HalfHour()
    view.draw(sessions_of(scene), half_hour_csv(scene))
    assert len(view.sessions) == 2
    assert view.get_root() is not None
    table = ChangeTable(rows=change_rows(scene.replace("session.minutes", 5), "held"))
    assert table.rows[0]["name"] == "as it is"
    assert table.rows[0]["effect"] == ""
    assert len(table.rows) > 6


def test_a_held_scene_whose_ramps_are_longer_than_its_on_time_is_said_beside_the_field() -> None:
    held = sim.presets()["tight"].replace("channel.0.timing.control", "held")
    for path, value in (("ramp.up_s", 5.0), ("ramp.down_s", 5.0), ("timing.on_s", 4.0)):
        held = held.replace(f"channel.0.{path}", value)
    told = Finding(text="")
    assert on_the_timer(held, told) is None
    assert told.text.startswith("Rise and fall do not fit into the timer's on time of ")
    assert on_the_timer(sim.presets()["tight"], told) is not None


def test_what_the_effort_of_the_reach_closes_is_said() -> None:
    closes = sim.presets()["stiff"].replace("session.minutes", 5).replace("task.effort", 0.6)
    words = [figure[1] for drawn in sessions_of(closes) for figure in drawn["figures"]]
    assert any("that effort closes it from" in word for word in words)
    calm = [figure[1] for drawn in sessions_of(closes.replace("task.effort", 0.0)) for figure in drawn["figures"]]
    assert not any("closes it from" in word for word in calm)


def test_what_was_found_of_another_scene_is_no_longer_shown() -> None:
    state = PractiseState()
    state.change("session.minutes", 5.0)
    found = Found(state)
    found.half_button.clicks += 1
    assert len(found.half.sessions) == 2
    assert found.said.text.startswith("The switch gave")
    found.follow()
    assert len(found.half.sessions) == 2, "nothing has changed"
    state.choose("arm", "weak")
    found.follow()
    assert (found.half.sessions, found.table.rows) == ([], [])
    assert found.said.text.startswith("Before this change: the switch gave")
    found.change_button.clicks += 1
    assert found.table.rows
    state.undo()
    found.follow()
    assert found.table.rows == []


def test_what_is_found_too_late_is_not_shown(monkeypatch: pytest.MonkeyPatch) -> None:
    """The setting was changed while it was worked out."""
    state = PractiseState()
    later = []
    monkeypatch.setattr(found_page, "in_background", lambda work, *given, then, sorry: later.append((work, given, then)))
    found = Found(state)
    found.half_button.clicks += 1
    assert found.half_button.disabled
    state.choose("arm", "weak")
    (work, given, then), = later
    then(([{"figures": []}], "", "The switch gave 1"))
    assert found.half.sessions == []
    assert "changed meanwhile" in found.said.text
    assert not found.half_button.disabled
    assert given[0].hand.elbow_strength != state.scene.hand.elbow_strength
    assert work is found_page.worked_out
