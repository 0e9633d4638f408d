"""Scenes: saved and loaded equal, and every bad input one clear line."""

from __future__ import annotations

from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from graspwave import simulator as sim
from graspwave.simulator.scene import Scene, SceneError

PULSE = "[[channel]]\n[channel.pulse]\n"


@pytest.mark.parametrize("key", ["supple", "stiff", "tight", "trial"])
def test_a_preset_saved_and_loaded_is_equal(key: str) -> None:
    scene = sim.presets()[key]
    assert Scene.loads(scene.dumps()) == scene
    assert scene.title
    assert scene.story


def test_hands_of_the_presets_differ_in_length_tone_and_title_only() -> None:
    p = sim.presets()
    for key, factor in (("stiff", 0.9953), ("tight", 0.95)):  # 1.00, 0.98, 0.95 published: Binder-Markey 2019; 0.9953 ours
        alike = p[key].replace("hand.flexor_length_factor", 1.0).replace("title", p["supple"].title)
        assert p[key].hand.flexor_length_factor == factor
        assert p[key].hand.finger_tone > p["supple"].hand.finger_tone
        assert alike.replace("hand.finger_tone", p["supple"].hand.finger_tone) == p["supple"]


def test_trial_is_the_published_recipe() -> None:
    # PMC6465149 table: 50 Hz biphasic, 200 us, 17-28 mA, 1 s up, 5 s hold, 1 s down
    channel = sim.presets()["trial"].channel[0]
    assert (channel.train.frequency_hz, channel.pulse.phase_us, channel.pulse.shape) == (50.0, 200.0, "symmetric")
    assert 17.0 <= channel.pulse.amplitude_ma <= 28.0
    assert (channel.ramp.up_s, channel.timing.on_s, channel.ramp.down_s, channel.timing.ramps_inside) == (1, 5, 1, False)
    assert channel.on_total_s == 7.0


@settings(max_examples=50, deadline=None)
@given(
    amplitude=st.floats(0, 60), phase=st.floats(20, 1000), held=st.none() | st.floats(-70, 75),
    title=st.text(st.characters(exclude_categories=("Cs",)), max_size=30), swap=st.booleans(),
)
def test_any_scene_survives_the_file(amplitude: float, phase: float, held: float | None, title: str, swap: bool) -> None:
    scene = Scene(title=title).replace("channel.0.pulse.amplitude_ma", amplitude)
    scene = scene.replace("channel.0.pulse.phase_us", phase).replace("hand.wrist_held_deg", held)
    scene = scene.replace("channel.0.pads.swap", swap).without("spread")
    assert Scene.loads(scene.dumps()) == scene


@pytest.mark.parametrize(
    ("text", "message"),
    [
        ("", "'channel' must be given at least once (got no channel): add [[channel]]"),
        (PULSE + "phase_us = 5", "'channel.0.pulse.phase_us' must be 20 to 1000 (got 5)"),
        (PULSE + "amplitude_a = 0.02",
         "'channel.0.pulse.amplitude_a' must be a known key (got unknown key): did you mean amplitude_ma?"),
        (PULSE + "amplitude_ma = '20 mA'",
         "'channel.0.pulse.amplitude_ma' must be a number in mA (got 20 mA): write it without quotes and unit"),
        (PULSE + "amplitude_ma = nan", "'channel.0.pulse.amplitude_ma' must be 0 to 60 (got nan)"),
        (PULSE + "amplitude_ma = inf", "'channel.0.pulse.amplitude_ma' must be 0 to 60 (got inf)"),
        (PULSE + "amplitude_ma = -3", "'channel.0.pulse.amplitude_ma' must be 0 to 60 (got -3)"),
        (PULSE + "amplitude_ma = true",
         "'channel.0.pulse.amplitude_ma' must be a number in mA (got True): write it without quotes and unit"),
        (PULSE + "shape = 'symetric'", "'channel.0.pulse.shape' must be one of symmetric, asymmetric, monophasic (got "
         "'symetric'): did you mean symmetric?"),
        ("channel = 3", "'channel' must be written [[channel]] (got 3): use double brackets"),
        ("[[channel]]\n" * 3, "'channel' must be one or two channels (got 3): add [[channel]]"),
        ("hand = 3\n[[channel]]", "'hand' must be a table (got 3)"),
        ("[[channel]]\n[channel.timing]\non_s = 1", "'channel.0.timing.on_s' must be at least both ramps together (2.5 s) "
         "(got 1): lengthen it, shorten the ramps, or set ramps_inside to false"),
        ("[[channel]]\n[channel.train]\nfrequency_hz = 200\n[channel.pulse]\nphase_us = 1000\nshape = 'asymmetric'",
         "'channel.0.pulse.phase_us' must be short enough to end before the next pulse (5000 us) (got 5000): shorten phase "
         "or gap, or lower the frequency"),
        ("[session]\nseed = 1.5\n[[channel]]", "'session.seed' must be a whole number (got 1.5)"),
        ("title = 3\n[[channel]]", "'title' must be text in quotes (got 3)"),
        ("[[channel]]\n[channel.pads]\nswap = 1", "'channel.0.pads.swap' must be true or false (got 1)"),
        ("without_mechanisms = ['magic']\n[[channel]]",
         "'without_mechanisms' must be mechanisms of slips, spread, reflex, tone, length, tiring, own_effort (got 'magic')"),
    ],
)
def test_bad_text_is_one_clear_line(text: str, message: str) -> None:
    if "5000 us" in message:
        text += "\ngap_us = 1"
        message = message.replace("(got 5000)", "(got 5001)")
    with pytest.raises(SceneError) as caught:
        Scene.loads(text)
    assert str(caught.value) == message


def test_broken_toml_and_binary_files_are_refused(tmp_path: Path) -> None:
    with pytest.raises(SceneError, match=r"^'scene' must be TOML \(got .*\): mend that line$"):
        Scene.loads("title = ")
    path = tmp_path / "scene.toml"
    path.write_bytes(b"\xff\xfe\x00\x01")
    with pytest.raises(SceneError, match=r"^'scene' must be a text file in UTF-8"):
        Scene.load(path)


def test_replace_names_the_path() -> None:
    scene = sim.presets()["tight"]
    for path, value, message in (
        ("channel.0.pulse.phase_us", 5, "'channel.0.pulse.phase_us' must be 20 to 1000 (got 5)"),
        ("channel.0.pulse.fase_us", 5,
         "'channel.0.pulse.fase_us' must be a known setting (got unknown key): did you mean phase_us?"),
        ("channel.4.pulse.phase_us", 5, "'channel.4.pulse.phase_us' must be a path to one of 1 channels (got '4')"),
        ("hand.strength", 9.0, "'hand.strength' must be 0.1 to 1.2 (got 9)"),
    ):
        with pytest.raises(SceneError) as caught:
            scene.replace(path, value)
        assert str(caught.value) == message


def test_without_takes_known_mechanisms_only() -> None:
    scene = sim.presets()["tight"]
    assert scene.without("tone", "spread").without_mechanisms == ("spread", "tone")
    with pytest.raises(SceneError, match="'mechanism' must be one of slips, spread"):
        scene.without("gravity")


def test_a_setting_prints_its_record() -> None:
    record = sim.setting("channel.0.pulse.amplitude_ma")
    assert (record.unit, record.range, record.mark) == ("mA", (0.0, 60.0), "derived")
