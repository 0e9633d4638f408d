"""What a room's bench takes: free settings, inside their ends or among their choices, and nothing else."""

from __future__ import annotations

import asyncio
import json
from collections.abc import Iterator
from typing import Any

import pytest
from own_loop import in_own_loop

from graspwave import simulator as sim
from graspwave.apps.classroom.bench import Bench
from graspwave.apps.teach.bench import setting_of

SCENE = sim.presets()["tight"]
FREE = ("channel.0.pulse.phase_us", "channel.0.pads.swap", "channel.0.pulse.shape", "hand.wrist_held_deg")
STEP = {"scene": SCENE.dumps(), "settings": [setting_of(SCENE, path) for path in FREE]}


@pytest.fixture
def bench() -> Iterator[Bench]:
    asked: list[dict[str, Any]] = []

    def live(scene: str, settings: dict[str, Any]) -> dict[str, Any]:
        asked.append(settings)
        return {"asked": len(asked)}

    made = Bench(live)
    yield made
    made.stop()


def ask(bench: Bench, settings: dict[str, Any]) -> bytes | None:
    async def go() -> bytes | None:
        return await bench.ask(asyncio.get_running_loop(), STEP, settings)

    return in_own_loop(go)


@pytest.mark.parametrize("settings", [
    {"channel.0.pulse.phase_us": 50.0}, {"channel.0.pulse.phase_us": 600}, {"channel.0.pads.swap": True},
    {"channel.0.pulse.shape": "monophasic"}, {"hand.wrist_held_deg": None}, {"hand.wrist_held_deg": -10.0}, {},
])
def test_what_is_free_is_taken(bench: Bench, settings: dict[str, Any]) -> None:
    found = ask(bench, settings)
    assert found is not None
    assert json.loads(found) == {"asked": 1}


@pytest.mark.parametrize(("settings", "said"), [
    ({"channel.0.pulse.phase_us": 49.9}, "'channel.0.pulse.phase_us' must be 50 to 600 (got 49.9)"),
    ({"channel.0.pulse.phase_us": 600.5}, "'channel.0.pulse.phase_us' must be 50 to 600 (got 600.5)"),
    ({"channel.0.pulse.phase_us": None}, "'channel.0.pulse.phase_us' must be 50 to 600 (got None)"),
    ({"channel.0.pulse.phase_us": "long"}, "'channel.0.pulse.phase_us' must be 50 to 600 (got 'long')"),
    ({"channel.0.pulse.phase_us": True}, "'channel.0.pulse.phase_us' must be 50 to 600 (got True)"),
    ({"channel.0.pulse.phase_us": float("nan")}, "'channel.0.pulse.phase_us' must be 50 to 600 (got nan)"),
    ({"channel.0.pads.swap": 1}, "'channel.0.pads.swap' must be one of False, True (got 1)"),
    ({"channel.0.pulse.shape": "round"},
     "'channel.0.pulse.shape' must be one of symmetric, asymmetric, monophasic (got 'round')"),
    ({"channel.0.pulse.shape": ["round"]},
     "'channel.0.pulse.shape' must be one of symmetric, asymmetric, monophasic (got ['round'])"),
    ({"task.mass_kg": 1.0}, f"'task.mass_kg' must be one of {', '.join(FREE)} (got 1)"),
])
def test_what_is_not_is_refused(bench: Bench, settings: dict[str, Any], said: str) -> None:
    with pytest.raises(sim.SceneError) as caught:
        ask(bench, settings)
    assert str(caught.value) == said
