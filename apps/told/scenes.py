"""Scenes as the pages use them: currents of a curve, the curve remembered, objects, hands, a scene as an address."""

from __future__ import annotations

import base64
import binascii
import zlib
from functools import lru_cache

from graspwave import simulator as sim
from graspwave.apps.told.refusals import refusal_words
from graspwave.simulator.answers import CURVE_MA
from graspwave.simulator.guarded import ADDRESS_BYTES
from graspwave.simulator.practice import objects

__all__ = [
    "CURVE_MA", "HANDS", "OBJECTS", "curve_of", "hand_changes", "link_words", "object_changes", "read_address",
    "scene_from_address", "scene_to_address", "without_amplitude",
]

OBJECTS = {name: mm for name, (mm, _) in objects().items()}
"""The objects of our invented potting bench, and their diameters in mm."""


def hand_changes(key: str) -> dict[str, object]:
    """What makes a scene's hand one of `HANDS`, by path: the same hand on every page."""
    hand = sim.presets()[key].hand
    return {"hand.flexor_length_factor": hand.flexor_length_factor, "hand.finger_tone": hand.finger_tone}


def object_changes(name: str) -> dict[str, object]:
    """Settings that put another object on the bench: its size and its weight with it."""
    mm, kg = objects()[name]
    return {"task.object": name, "task.diameter_mm": mm, "task.mass_kg": kg}


HANDS = ("supple", "stiff", "tight")

_LONGEST_ADDRESS = 2000


@lru_cache(maxsize=64)
def _curve(scene: sim.Scene) -> sim.Opening:
    return sim.opening_curve(scene, CURVE_MA)


def curve_of(scene: sim.Scene) -> sim.Opening:
    """Opening against current for a scene, remembered."""
    return _curve(without_amplitude(scene))


@lru_cache(maxsize=64)
def without_amplitude(scene: sim.Scene) -> sim.Scene:
    """The scene of a curve: each of its points has its own current, so that of the scene must not split a cache."""
    return scene.replace("channel.0.pulse.amplitude_ma", 0.0).replace("title", "").replace("story", "")


def scene_to_address(scene: sim.Scene) -> str:
    """A scene as text for an address: compressed TOML, base64 for addresses."""
    return base64.urlsafe_b64encode(zlib.compress(scene.dumps().encode(), 9)).decode().rstrip("=")


def scene_from_address(text: str) -> sim.Scene | None:
    """The scene in an address; None where it holds none that can be read."""
    return read_address(text)[0]


def read_address(text: str) -> tuple[sim.Scene | None, str]:
    """The scene in an address, or None and what is wrong with it, in words."""
    if len(text) > _LONGEST_ADDRESS:
        return None, "It is longer than any scene."
    try:
        raw = base64.urlsafe_b64decode(text.encode("ascii") + b"=" * (-len(text) % 4))
        packed = zlib.decompressobj()
        plain = packed.decompress(raw, ADDRESS_BYTES)
        if packed.unconsumed_tail:
            return None, "It unpacks to more than any scene."
        scene = sim.Scene.loads(plain.decode("utf-8"))
    except sim.SceneError as error:
        return None, refusal_words(error)
    except (ValueError, binascii.Error, zlib.error):
        return None, "It holds no scene that can be read; it may have lost a letter on its way."
    if scene.channel[0].pads.limb != "forearm":  # the pages show a hand
        return None, "Its first pads lie on the upper arm, where they open no hand."
    return scene, ""


def link_words(why: str, shown: sim.Scene, name: str) -> str:
    """What was wrong with an address, and what is shown in place of its scene."""
    return f"The link was not taken. {why} Shown instead: the {name} hand at {shown.channel[0].pulse.amplitude_ma:g} mA."
