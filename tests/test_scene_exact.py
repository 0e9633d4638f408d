"""Settings at their ends and what is said past them, one worked example each (gaps that `tests.bench.mutants` found)."""

from __future__ import annotations

import math
import pickle
from typing import Any

import numpy as np
import pytest
from pulse_settings import scene_with

from graspwave.simulator.scene import MECHANISMS, SWITCHES, Channel, Pads, Pulse, Ramp, Scene, SceneError, Timing, Train, setting


def refused(make: Any) -> str:
    with pytest.raises(SceneError) as error:
        make()
    return str(error.value)


def read(text: str) -> Scene:
    return Scene.loads(f"{text}\n[[channel]]\n")


def test_an_error_comes_whole_out_of_another_process() -> None:
    error = SceneError("hand.strength", "0 to 1", 2.0, "lower it")
    again = pickle.loads(pickle.dumps(error))
    assert (again.name, again.rule, again.got, again.repair) == ("hand.strength", "0 to 1", 2.0, "lower it")
    assert str(again) == str(error)


@pytest.mark.parametrize(
    ("got", "shown"),
    [
        ("x" * 40, f"'{'x' * 40}'"), ("x" * 41, f"'{'x' * 37}...'"),
        (10**59, str(10**59)), (10**60, str(10**60)[:57] + "..."),
    ],
)
def test_what_was_found_is_shown_and_cut_where_it_is_long(got: object, shown: str) -> None:
    assert str(SceneError("a", "b", got)) == f"'a' must be b (got {shown})"


def test_sides_of_square_and_round_pads() -> None:
    assert Pads(size_cm2=25.0).side_mm == pytest.approx(50.0)
    # a disc of 25 cm2 has a diameter of 2 sqrt(25 / pi) cm
    assert Pads(size_cm2=25.0, shape="round").side_mm == pytest.approx(20.0 * math.sqrt(25.0 / math.pi))
    assert Pads(size_cm2=25.0, spacing_mm=30.0).centres_mm == pytest.approx(80.0)


def test_the_second_phase_of_each_shape() -> None:
    shapes = ("symmetric", "asymmetric", "monophasic")
    assert [Pulse(shape=shape, phase_ratio=3.0).second_phase for shape in shapes] == [1.0, 3.0, 0.0]


def test_a_pulse_may_fill_the_time_to_the_next_and_no_more() -> None:
    whole = Pulse(phase_us=1000.0, shape="asymmetric", phase_ratio=4.0)  # 5 ms
    Channel(pulse=whole, train=Train(frequency_hz=200.0))
    Channel(pulse=whole, train=Train(frequency_hz=20.0, start="doublet", leading_interval_ms=5.0))
    Channel(pulse=whole, train=Train(frequency_hz=20.0, start="plain", leading_interval_ms=3.0))  # none is led by another
    said = "'pulse.phase_us' must be short enough to end before the next pulse"
    assert f"{said} (4995 us)" in refused(lambda: Channel(pulse=whole, train=Train(
        frequency_hz=20.0, start="triplet", leading_interval_ms=4.995)))
    assert said in refused(lambda: Channel(pulse=whole, train=Train(frequency_hz=200.0, start="plain")).pulse and Channel(
        pulse=Pulse(phase_us=1000.0, shape="asymmetric", phase_ratio=4.01), train=Train(frequency_hz=200.0)))


def test_ramps_may_fill_the_on_time_where_they_count_inside_it() -> None:
    ramps = Ramp(up_s=1.0, down_s=1.0)
    Channel(ramp=ramps, timing=Timing(on_s=2.0))
    Channel(ramp=ramps, timing=Timing(on_s=1.0, ramps_inside=False))
    Channel(ramp=ramps, timing=Timing(on_s=1.0, control="held"))
    assert "'timing.on_s' must be at least both ramps together (2 s) (got 1.99)" in refused(
        lambda: Channel(ramp=ramps, timing=Timing(on_s=1.99)))


def test_true_and_false_of_numpy_are_plain_ones() -> None:
    assert Pads(swap=np.bool_(True)).swap is True
    assert "'swap' must be true or false (got 1)" in refused(lambda: Pads(swap=1))


def test_a_setting_that_may_be_absent_and_one_that_may_not() -> None:
    assert Scene().replace("hand.wrist_held_deg", None).hand.wrist_held_deg is None
    assert "must be a number" in refused(lambda: Scene().replace("hand.strength", None))
    assert "did you mean round?" in refused(lambda: Pads(shape="rond"))


def test_numbers_nearer_to_nothing_than_a_billionth_are_nothing() -> None:
    assert Pulse(amplitude_ma=1e-9).amplitude_ma == 1e-9
    assert Pulse(amplitude_ma=0.9e-9).amplitude_ma == 0.0


def test_channels_are_one_or_two_and_nothing_else() -> None:
    assert Scene(channel=[Channel()]).channel == (Channel(),)
    for wrong in ((Channel(), 5), (5,), 5):
        assert "'channel' must be one or two Channel records" in refused(lambda wrong=wrong: Scene(channel=wrong))
    for many in ((), (Channel(),) * 3):
        assert "'channel' must be one or two channels" in refused(lambda many=many: Scene(channel=many))


def test_mechanisms_are_a_list_of_known_names() -> None:
    assert Scene(without_mechanisms=["tone"]).without_mechanisms == ("tone",)
    assert "'without_mechanisms' must be mechanisms in ( )" in refused(lambda: Scene(without_mechanisms="tone"))
    assert "'without_mechanisms' must be a list of names" in refused(lambda: read('without_mechanisms = "tone"'))
    assert "'without_mechanisms' must be a list of names" in refused(lambda: read("without_mechanisms = [1]"))
    assert read('without_mechanisms = ["tone"]').without_mechanisms == ("tone",)
    assert "(got 'tones')" in refused(lambda: Scene().without("tone", "tones", "slip"))
    assert set(SWITCHES) < set(MECHANISMS)
    assert MECHANISMS == ("recruitment", "wrist", "slips", "spread", "reflex", "tone", "length", "tiring", "own_effort")


def test_a_second_channel_begins_as_the_first_and_the_first_can_be_another() -> None:
    scene = scene_with(pulse__amplitude_ma=7.0)
    two = scene.with_channel({"pads.limb": "upper arm"})
    assert (two.channel[1].pulse.amplitude_ma, two.channel[1].pads.limb) == (7.0, "upper arm")
    other = two.with_channel({"pulse.amplitude_ma": 9.0})
    assert (other.channel[1].pads.limb, other.channel[1].pulse.amplitude_ma, len(other.channel)) == ("upper arm", 9.0, 2)
    first = two.with_channel({"pulse.amplitude_ma": 3.0}, 0)
    assert [one.pulse.amplitude_ma for one in first.channel] == [3.0, 7.0]
    assert "did you mean pulse.amplitude_ma?" in refused(lambda: scene.with_channel({"pulse.amplitud_ma": 3.0}))


def test_replace_changes_one_of_two_channels_and_names_what_is_not_there() -> None:
    two = scene_with().with_channel({})
    assert [one.pulse.amplitude_ma for one in two.replace("channel.0.pulse.amplitude_ma", 5.0).channel] == [5.0, 20.0]
    assert [one.pulse.amplitude_ma for one in two.replace("channel.1.pulse.amplitude_ma", 5.0).channel] == [20.0, 5.0]
    assert "a path to one of 1 channels (got '1')" in refused(lambda: scene_with().replace("channel.1.pulse.amplitude_ma", 5.0))
    assert "did you mean strength?" in refused(lambda: two.replace("hand.strenght", 1.0))


def test_unknown_keys_of_a_file_are_told_with_the_nearest_or_with_all() -> None:
    assert "did you mean strength?" in refused(lambda: read("[hand]\nstrenght = 1.0"))
    told = refused(lambda: read("[session]\nzzzzzz = 1.0"))
    assert "known: minutes, " in told
    assert "did you mean pulse.phase_us?" in refused(lambda: setting("pulse.phase_usec"))
