"""Half an hour of the present cycles, under the why."""

from __future__ import annotations

import pytest

from graspwave import simulator as sim
from graspwave.apps.desk.state import DeskState
from graspwave.apps.explore.session_view import SessionView, session_rows
from graspwave.apps.told import force_studies as studies


def test_rows_are_the_models_own_numbers_and_follow_the_scene() -> None:
    state = DeskState()
    view = SessionView(state)
    first, last = studies.minutes(state.scene).first_held_n, studies.minutes(state.scene).last_held_n
    assert last < first
    assert view.rows.items[0]["words"] == f"30 min of these cycles: pull {first:.0f}\u00a0\u2192\u00a0{last:.0f}\u00a0N, opening"
    fresh, tired = studies.opened(state.scene) or (0.0, 0.0)
    assert fresh == pytest.approx(float(sim.opening_curve(state.scene, [state.amplitude_ma]).opening_mm[0]), abs=1.0)
    assert view.rows.items[0]["value"] == f"{fresh:.0f}\u00a0\u2192\u00a0{tired:.0f}\u00a0mm"
    state.change("channel.0.pulse.amplitude_ma", 0.0)
    assert view.rows.items[0]["value"] == "0 N"


def test_a_switch_has_no_cycles_of_its_own() -> None:
    held = sim.presets()["tight"].replace("channel.0.timing.control", "held")
    assert session_rows(held)[0]["words"].startswith("30 min of timer cycles: pull ")
