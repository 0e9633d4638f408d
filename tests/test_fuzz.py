"""What strangers send, made up at random: scenes with many settings, addresses, lessons, messages; a small budget a run."""

from __future__ import annotations

import base64
import dataclasses
import json
import math
import os
import zlib
from typing import Any

import numpy as np
from hypothesis import HealthCheck, example, given, settings
from hypothesis import strategies as st

from graspwave import lessons
from graspwave import simulator as sim
from graspwave.apps.classroom.answers import clean_answer
from graspwave.apps.classroom.codes import clean_code
from graspwave.apps.classroom.gate import parse_message
from graspwave.apps.told.scenes import scene_from_address, scene_to_address
from graspwave.lessons.check import check
from graspwave.simulator.dose import dose_of

FEW = settings(deadline=None, max_examples=int(os.environ.get("GRASPWAVE_FUZZ", "40")),
               suppress_health_check=[HealthCheck.too_slow, HealthCheck.data_too_large])
"""Drawn anew at each run, so that many runs look at many things; what fails is told with what made it fail."""


def paths(node: Any, above: str = "") -> dict[str, dataclasses.Field[Any]]:
    """Every setting of a scene by its path."""
    found: dict[str, dataclasses.Field[Any]] = {}
    for f in dataclasses.fields(node):
        value, path = getattr(node, f.name), f"{above}{f.name}"
        if dataclasses.is_dataclass(value):
            found |= paths(value, f"{path}.")
        elif f.name == "channel":
            found |= paths(value[0], "channel.0.")
        elif "fact" in f.metadata or "choices" in f.metadata or f.type == "bool":
            found[path] = f
    return found


PATHS = paths(sim.presets()["tight"])


def values(f: dataclasses.Field[Any]) -> st.SearchStrategy[Any]:
    """Values of a setting: its corners as often as anything between."""
    if "choices" in f.metadata:
        return st.sampled_from(f.metadata["choices"])
    if "fact" not in f.metadata:
        return st.booleans()
    low, high = f.metadata["fact"].range or (0.0, 1.0)
    if f.metadata["whole"]:
        return st.integers(int(low), int(high))
    numbers = st.sampled_from([low, high]) | st.floats(low, high)
    return numbers | st.none() if f.metadata["optional"] else numbers


@st.composite
def scenes(draw: st.DrawFn) -> sim.Scene:
    """A scene with up to twelve settings anywhere in their ranges; what two of them forbid each other is left as it was."""
    scene = sim.presets()[draw(st.sampled_from(sorted(sim.presets())))]
    for path in draw(st.lists(st.sampled_from(sorted(PATHS)), max_size=12, unique=True)):
        try:
            scene = scene.replace(path, draw(values(PATHS[path])))
        except sim.SceneError:
            continue
    return scene


@st.composite
def cornered(draw: st.DrawFn) -> sim.Scene:
    """A scene with every setting at one of its ends, together; where two ends forbid each other the later one stays as it was."""
    scene = sim.presets()[draw(st.sampled_from(sorted(sim.presets())))]
    for path in draw(st.permutations(sorted(PATHS))):
        f = PATHS[path]
        ends = f.metadata["fact"].range if "fact" in f.metadata else None
        value = draw(st.sampled_from(ends) if ends and not f.metadata["whole"] else values(f))
        try:
            scene = scene.replace(path, value)
        except sim.SceneError:
            continue
    return scene


@FEW
@given(scene=cornered(), share=st.sampled_from([0.0, 0.3, 1.0]))
def test_all_settings_at_their_ends_together(scene: sim.Scene, share: float) -> None:
    assert sim.Scene.loads(scene.dumps()) == scene
    try:
        curve = sim.opening_curve(scene, [60.0 * share])
        doses = [dose_of(scene, channel) for channel in range(len(scene.channel))]
        sensed = sim.simulate(scene, duration_s=0.5)
    except sim.SceneError:
        return
    assert np.all(np.isfinite(curve.opening_mm))
    assert np.all(np.isfinite(list(curve.angle_deg.values())))
    assert all(math.isfinite(one.session_pulses) for one in doses)
    assert np.all(np.isfinite(sensed.opening_mm))


@FEW
@given(scene=scenes())
def test_a_scene_goes_through_text_and_address_whole(scene: sim.Scene) -> None:
    assert sim.Scene.loads(scene.dumps()) == scene
    text = scene_to_address(scene)
    if len(text) <= 2000:
        assert scene_from_address(text) == (scene if scene.channel[0].pads.limb == "forearm" else None)


@FEW
@given(scene=scenes(), share=st.floats(0.0, 1.0))
def test_any_scene_has_numbers_for_an_answer_or_says_why_not(scene: sim.Scene, share: float) -> None:
    try:
        opening = sim.opening_curve(scene, [60.0 * share]).opening_mm
        doses = [dose_of(scene, channel) for channel in range(len(scene.channel))]
    except sim.SceneError:
        return
    assert np.all(np.isfinite(opening))
    assert all(math.isfinite(one.session_pulses) for one in doses)


@FEW
@given(scene=scenes(), control=st.sampled_from(["timed", "held"]), minutes=st.floats(0.05, 8.0))
def test_any_practice_ends_or_says_why_not(scene: sim.Scene, control: str, minutes: float) -> None:
    try:
        run = sim.run_practice(scene, control, minutes=minutes)
    except sim.SceneError:
        return
    assert abs(run.log[-1].t_s + run.log[-1].lasts_s - 60.0 * minutes) < 0.001


BROKEN = st.binary(max_size=300) | st.text(max_size=300).map(str.encode)


@FEW
@given(raw=BROKEN, packed=st.booleans())
@example(raw=b"a=" * 4000, packed=True)
@example(raw=b".".join([b"a"] * 3000) + b"=1", packed=True)
def test_any_address_is_a_scene_or_none(raw: bytes, packed: bool) -> None:
    found = scene_from_address(base64.urlsafe_b64encode(zlib.compress(raw) if packed else raw).decode().rstrip("="))
    assert found is None or isinstance(found, sim.Scene)


@FEW
@given(st.text(max_size=120), st.floats(0.0, 1.0), st.floats(0.0, 1.0), st.sampled_from(sorted(lessons.names())[:3]))
def test_any_cut_of_a_lesson_is_read_or_told_line_by_line(put_in: str, at: float, to: float, slug: str) -> None:
    from importlib.resources import files

    name = next(path.name for path in files("graspwave.lessons").iterdir() if path.name.endswith(f"{slug}.md"))
    text = (files("graspwave.lessons") / name).read_text("utf-8")
    begin, end = sorted((int(at * len(text)), int(to * len(text))))
    from graspwave.lessons.read import parse

    _, notes = parse(text[:begin] + put_in + text[end:], "cut.md")
    assert all(mistake.line >= 1 for mistake in notes.all())


@FEW
@given(st.recursive(
    st.none() | st.booleans() | st.integers() | st.floats() | st.text(max_size=20),
    lambda inner: st.lists(inner, max_size=4) | st.dictionaries(st.text(max_size=8), inner, max_size=4), max_leaves=20,
))
def test_any_message_is_a_plain_table_or_refused(value: Any) -> None:
    try:
        message = parse_message(json.dumps(value))
    except ValueError:
        return
    assert isinstance(message, dict)
    for question in ({"kind": "choice", "options": [{"key": "A"}, {"key": "B"}]}, {"kind": "number"}, {"kind": "order"}):
        try:
            clean_answer({**question, "choices": [], "items": []}, message)
        except (ValueError, KeyError):
            continue
    clean_code(value)


@FEW
@given(st.text(alphabet="()[],.+-*/<>= abfor in0123456789\"'", max_size=80))
def test_any_text_as_an_expression_ends_in_a_mistake_or_a_value(text: str) -> None:
    lesson = "\n".join(["+++", 'title = "x"', "[names]", f"a = {json.dumps(text)}", "+++", "## One", "words"])
    assert all(mistake.line >= 1 for mistake in check(lesson, "x.md", {"round": round, "a0": (1, 2, 3)}))
