"""The simulator as a library: numpy's numbers, one clear line for what cannot be, scenes on disk, results that can be held."""

from __future__ import annotations

import copy
import doctest
import importlib
import inspect
import pkgutil
from collections.abc import Callable
from functools import cache
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from graspwave import simulator as sim
from graspwave.simulator.electrode import load_voltage, skin_under

AMPLITUDE = "channel.0.pulse.amplitude_ma"
TIGHT = sim.presets()["tight"]


@pytest.mark.parametrize("value", [np.float32(20), np.float64(20), np.int64(20), np.uint8(20), 20])
def test_numbers_of_numpy_are_numbers(value: Any) -> None:
    scene = TIGHT.replace(AMPLITUDE, value)
    assert scene == TIGHT.replace(AMPLITUDE, 20.0)
    assert type(scene.channel[0].pulse.amplitude_ma) is float
    assert sim.Scene.loads(scene.dumps()) == scene


def test_yes_and_no_of_numpy_too() -> None:
    scene = TIGHT.replace("channel.0.pads.swap", np.bool_(True))
    assert scene.channel[0].pads.swap is True
    assert sim.Scene.loads(scene.dumps()) == scene


LINES: list[tuple[Callable[[], object], str]] = [
    (lambda: TIGHT.replace("hand", 5), "'hand' must be a Hand record (got 5): or change one setting of it: hand.…"),
    (lambda: sim.Channel(pads=None), "'pads' must be a Pads record (got None): or change one setting of it: pads.…"),  # type: ignore[arg-type]
    (lambda: TIGHT.replace("channel", 5),
     "'channel' must be one or two Channel records, in ( ) (got 5): or change one: channel.0.pulse.…"),
    (lambda: TIGHT.replace("channel", [1, 2]),
     "'channel' must be one or two Channel records, in ( ) (got [1, 2]): or change one: channel.0.pulse.…"),
    (lambda: TIGHT.replace(AMPLITUDE, True),
     f"'{AMPLITUDE}' must be a number in mA (got True): write it without quotes and unit"),
    (lambda: TIGHT.replace(AMPLITUDE, np.bool_(True)),
     f"'{AMPLITUDE}' must be a number in mA (got True): write it without quotes and unit"),
    (lambda: TIGHT.replace(AMPLITUDE, np.array([1.0, 2.0])),
     f"'{AMPLITUDE}' must be a number in mA (got [1. 2.]): write it without quotes and unit"),
    (lambda: TIGHT.replace("channel.0.pulse.shape", np.array(["symmetric", "asymmetric"])),
     "'channel.0.pulse.shape' must be one of symmetric, asymmetric, monophasic (got ['symmetric' 'asymmetric'])"),
    (lambda: sim.recruitment_curve(3, [10.0]),  # type: ignore[arg-type]
     "'scene' must be a Scene (got 3): for example presets()['tight'], or Scene.read(path)"),
    (lambda: sim.opening_curve("tight", [10.0]),  # type: ignore[arg-type]
     "'scene' must be a Scene (got 'tight'): for example presets()['tight'], or Scene.read(path)"),
    (lambda: sim.simulate("tight"),  # type: ignore[arg-type]
     "'scene' must be a Scene (got 'tight'): for example presets()['tight'], or Scene.read(path)"),
    (lambda: sim.dose_of(None),  # type: ignore[arg-type]
     "'scene' must be a Scene (got None): for example presets()['tight'], or Scene.read(path)"),
    (lambda: sim.setting("channel.0.pulse.fase_us"),
     "'channel.0.pulse.fase_us' must be the path of a numeric setting (got unknown path): did you mean pulse.phase_us?"),
    (lambda: TIGHT.with_channel({"pulse.fase_us": 1}),
     "'channel.1.pulse.fase_us' must be a known setting (got unknown key): did you mean pulse.phase_us?"),
    (lambda: TIGHT.with_channel({"pulse.phase_us": 1e9}), "'channel.1.pulse.phase_us' must be 20 to 1000 (got 1e+09)"),
    (lambda: TIGHT.with_channel(4), "'settings' must be a Channel, or settings by path in { } (got 4)"),  # type: ignore[arg-type]
    (lambda: TIGHT.with_channel({}, 2), "'index' must be 0 or 1 (got 2): count channels from 0"),
]


@pytest.mark.parametrize(("call", "line"), LINES)
def test_what_cannot_be_is_one_line(call: Callable[[], object], line: str) -> None:
    with pytest.raises(sim.SceneError) as caught:
        call()
    assert str(caught.value) == line


def test_one_current_is_a_curve_of_one() -> None:
    assert {share.shape for share in sim.recruitment_curve(TIGHT, 3).values()} == {(1,)}


def test_presets_cannot_be_spoilt() -> None:
    mine = sim.presets()
    mine.clear()
    assert set(sim.presets()) == {"supple", "stiff", "tight", "trial"}


def test_settings_of_a_channel_are_set_together() -> None:
    # set one by one, either would be refused: ramps of 9 s do not fit 8 s, and 30 s of on time may come after
    found = TIGHT.with_channel({"ramp.up_s": 5.0, "ramp.down_s": 5.0, "timing.on_s": 12.0}, 0)
    assert found.channel[0].ramp == sim.Ramp(up_s=5.0, down_s=5.0)
    assert len(TIGHT.with_channel({}).channel) == 2
    assert TIGHT.with_channel({}).with_channel({"pulse.amplitude_ma": 3}).channel[1].pulse.amplitude_ma == 3.0


# ---- scenes on disk

FILE = """# Written for Tuesday's class.
title = "Two pads, one bench"   # ours

[hand]
# a hand half-way
flexor_length_factor = 0.97

[[channel]]
pulse.amplitude_ma = 12   # felt at 9
[channel.pads]
along_percent = 30.0
"""


def test_a_scene_keeps_the_comments_of_its_file(tmp_path: Path) -> None:
    path = tmp_path / "scene.toml"
    path.write_text(FILE, "utf-8")
    scene = sim.Scene.read(path).replace(AMPLITUDE, 14).replace("hand.wrist_held_deg", -10)
    scene.save(path)
    text = path.read_text("utf-8")
    assert sim.Scene.read(path) == scene
    for kept in ("# Written for Tuesday's class.", "# ours", "# a hand half-way", "14.0   # felt at 9"):
        assert kept in text
    scene.replace("hand.wrist_held_deg", None).replace(AMPLITUDE, 12).save(path)
    assert sim.Scene.read(path) == sim.Scene.loads(FILE)
    assert "wrist_held" not in path.read_text("utf-8")


def test_a_file_that_already_says_so_is_not_touched(tmp_path: Path) -> None:
    path = tmp_path / "scene.toml"
    path.write_text(FILE, "utf-8")
    sim.Scene.read(path).save(path)
    assert path.read_text("utf-8") == FILE


@pytest.mark.parametrize("key", ["supple", "stiff", "tight", "trial"])
def test_every_preset_goes_into_any_other_s_file(key: str, tmp_path: Path) -> None:
    path = tmp_path / "scene.toml"
    for other in sim.presets().values():
        path.write_text(FILE, "utf-8")
        other.with_channel({"pads.limb": "upper arm"}).save(path)
        sim.presets()[key].save(path)
        assert sim.Scene.read(path) == sim.presets()[key]


def test_a_file_of_something_else_is_left_alone(tmp_path: Path) -> None:
    path = tmp_path / "notes.toml"
    path.write_text("a = 1\n", "utf-8")
    with pytest.raises(sim.SceneError):
        TIGHT.save(path)
    assert path.read_text("utf-8") == "a = 1\n"
    assert list(tmp_path.iterdir()) == [path]


# ---- results

@cache
def results() -> dict[str, Any]:
    return {
        "opening": sim.opening_curve(TIGHT, np.linspace(0.0, 60.0, 61)), "run": sim.simulate(TIGHT, 2.0),
        "dose": sim.dose_of(TIGHT), "why": sim.explain_opening(TIGHT, TIGHT.replace(AMPLITUDE, 30.0)),
        "clearing": sim.clears(TIGHT, advise=False), "force": sim.muscle_force(np.arange(0.0, 1.0, 0.03)),
        "train": sim.pulse_train(TIGHT, duration_s=30.0),
        "practice": sim.run_practice(TIGHT.replace("session.minutes", 3), "timed"),
        "load": load_voltage(TIGHT.channel[0].pulse, skin_under(TIGHT.channel[0].pads)),
    }


@pytest.mark.parametrize("name", list(results()))
def test_a_result_prints_in_three_lines_is_compared_drawn_and_a_table(name: str) -> None:
    result = results()[name]
    text = repr(result)
    assert 1 <= len(text.splitlines()) <= 3
    assert len(text) < 600
    assert "array(" not in text
    assert (result == copy.deepcopy(result)) is True
    assert (result == 5) is False
    assert (result != copy.deepcopy(result)) is False
    html = result._repr_html_()
    assert "A teaching model, not for setting treatment." in html
    figure = result.plot()
    assert result.plot(figure, color="black") is figure
    assert len(figure.renderers) == 2
    assert len(result.frame().columns) >= 2


def test_results_that_differ_anywhere_are_not_equal() -> None:
    one = results()["opening"]
    other = copy.deepcopy(one)
    other.angle_deg["PIP"][7] += 1e-9
    assert (one == other) is False
    assert (sim.pulse_train(TIGHT, duration_s=30.0) == results()["train"]) is True
    assert (sim.pulse_train(TIGHT, duration_s=31.0) == results()["train"]) is False


def test_a_held_scene_without_presses_says_so() -> None:
    held = TIGHT.replace("channel.0.timing.control", "held")
    run = sim.simulate(held, 2.0)
    assert run.silent
    assert "no press was given" in repr(run)
    pressed = sim.simulate(held, 2.0, held=[(0.1, 1.0)])
    assert not pressed.silent
    assert "no press" not in repr(pressed)
    assert "no current is set" in repr(sim.simulate(TIGHT.replace(AMPLITUDE, 0.0), 2.0))


# ---- examples

def public() -> list[str]:
    return [name for name in sim.__all__ if inspect.isfunction(inspect.unwrap(getattr(sim, name)))]


@pytest.mark.parametrize("name", public())
def test_every_public_function_has_an_example(name: str) -> None:
    assert ">>> " in (inspect.getdoc(getattr(sim, name)) or "")


def modules() -> list[str]:
    import graspwave.apps.told

    found = [m.name for m in pkgutil.walk_packages(sim.__path__, "graspwave.simulator.")]
    return found + [m.name for m in pkgutil.walk_packages(graspwave.apps.told.__path__, "graspwave.apps.told.")]


def test_every_example_runs_and_gives_what_it_says() -> None:
    tried = 0
    for name in modules():
        if name.endswith((".make_maps", ".make_table")):
            continue
        module = importlib.import_module(name)
        found = doctest.testmod(module, optionflags=doctest.NORMALIZE_WHITESPACE | doctest.ELLIPSIS)
        assert found.failed == 0, name
        tried += found.attempted
    assert tried > 30
