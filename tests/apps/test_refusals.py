"""What is not taken is said in people's words beside its field: a table over every setting and every field of every page."""

from __future__ import annotations

import dataclasses
import re
from collections.abc import Iterator
from typing import Any

import pytest

from graspwave import simulator as sim
from graspwave.apps.controls import Choice, NumberRow, Slider
from graspwave.apps.desk.settings import CurrentView, SettingsView
from graspwave.apps.desk.state import DeskState
from graspwave.apps.practise.settings import controls
from graspwave.apps.practise.state import PractiseState
from graspwave.apps.told.refusals import label_of, refusal_words
from graspwave.apps.told.scenes import link_words, read_address, scene_to_address

CODE = re.compile(r"_|\bchannel\.\d|[a-z]\.\w+\.|\bfalse\b|\btrue\b|\bNone\b|'\w+'|\[\[|\{|\(got")
"""What nobody says aloud: names of settings, paths, words of the language that it is written in."""


def paths(record: Any, under: str = "") -> Iterator[str]:
    """Every setting of a scene by its path."""
    for field in dataclasses.fields(record):
        value = getattr(record, field.name)
        if field.name == "channel":
            for n, one in enumerate(value):
                yield from paths(one, f"channel.{n}.")
        elif dataclasses.is_dataclass(value):
            yield from paths(value, f"{under}{field.name}.")
        else:
            yield under + field.name


TWO = PractiseState()
assert TWO.set_elbow(True)
ALL = sorted(paths(TWO.scene))


def refused(path: str) -> list[sim.SceneError]:
    """What a setting refuses of what it could be given: a word, numbers out of reach."""
    found = []
    for value in ("no such thing", -1e9, 1e9, 0.5, [1]):
        try:
            TWO.scene.replace(path, value)
        except sim.SceneError as error:
            found.append(error)
    return found


@pytest.mark.parametrize("path", ALL)
def test_every_rule_of_every_setting_is_told_without_code(path: str) -> None:
    assert not CODE.search(label_of(path)), label_of(path)
    for error in refused(path):
        assert not CODE.search(refusal_words(error)), refusal_words(error)
        assert refusal_words(error)[0].isupper()


def test_some_rules_in_full() -> None:
    def told(**settings: object) -> str:
        state = DeskState()
        assert not state.change_all({path.replace("__", "."): value for path, value in settings.items()}, "one")
        return state.message

    assert told(channel__0__pulse__amplitude_ma=99.0).replace("\xa0", " ") == "Current goes from 0 to 60 mA. 99 mA was asked for."
    assert told(channel__0__timing__on_s=1.0) == (
        "Rise and fall last 2.5 s together, longer than the 1 s on. Lengthen the on time or shorten them.")
    assert told(channel__0__pulse__phase_us=600.0, channel__0__train__frequency_hz=900.0).startswith("Frequency goes from")


def test_code_would_be_found() -> None:
    for text in ("'channel.0.timing.on_s' must be at least", "set ramps_inside to false", "(got 3)"):
        assert CODE.search(text)


ASKED_ONLY = ("Slow, gentle stretches", "Since the last one")
"""Fields that set nothing: they ask what stretching would do."""


def fields(root: Any) -> list[Any]:
    """The controls that set something, wherever they lie in a view."""
    if isinstance(root, (Choice, NumberRow, Slider)):
        return [] if root.label in ASKED_ONLY else [root]
    inside = root.__panel__() if not hasattr(root, "objects") and hasattr(root, "__panel__") else root
    return [one for part in getattr(inside, "objects", []) for one in fields(part)]


@pytest.mark.parametrize("page", ["explore and explain", "practise"])
def test_every_field_says_beside_itself_why_it_was_not_taken(page: str) -> None:
    if page == "practise":
        state: DeskState = PractiseState()
        assert isinstance(state, PractiseState)
        assert state.set_elbow(True)
        shown = [one for part in controls(state) for one in fields(part)]
    else:
        state = DeskState()
        views = CurrentView(state), SettingsView(state)
        shown = [one for view in views for one in fields(view)] + fields(views[1].pads) + fields(views[1].rest)
    known = {id(control): (control, found) for control, found in state.fields}
    assert len(shown) > 12
    for control in shown:
        assert id(control) in known, control.label
    for control, found in known.values():
        for path in found:
            if not state.change(path, "no such thing"):
                assert control.trouble, path
                assert control.trouble == state.message
                assert not CODE.search(control.trouble)
                others = [other for other, paths_ in known.values() if path not in paths_]
                assert not any(other.trouble for other in others), path
    current = state.scene.channel[0].pulse.amplitude_ma
    assert state.change("channel.0.pulse.amplitude_ma", current + 1.0)
    assert not any(control.trouble for control, _ in known.values())


def test_a_link_says_what_was_wrong_and_what_is_shown_instead() -> None:
    good = scene_to_address(sim.presets()["tight"])
    assert read_address(good)[1] == ""
    for text in ("nonsense", good[:-9], "x" * 3000, good[:20] + "A" * 30 + good[50:]):
        scene, why = read_address(text)
        assert scene is None
        assert why.endswith(".")
        assert not CODE.search(why)
    upper = sim.presets()["tight"].replace("channel.0.pads.limb", "upper arm")
    assert "upper arm" in read_address(scene_to_address(upper))[1]
    assert link_words("It is longer than any scene.", sim.presets()["tight"], "tight") == (
        "The link was not taken. It is longer than any scene. Shown instead: the tight hand at 15 mA.")
