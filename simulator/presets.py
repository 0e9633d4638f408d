"""Scenes to start from, each with a title of our own story."""

from __future__ import annotations

from functools import cache
from importlib.resources import files

from graspwave.simulator.scene import Scene

__all__ = ["presets"]

_HANDS = {"supple": (1.00, "Potting bench, supple hand"), "stiff": (0.98, "Potting bench, stiff hand"),
          "tight": (0.95, "Potting bench, tight hand")}
"""Flexor length factors as published (source binder-markey-2019); all else alike."""


@cache
def presets() -> dict[str, Scene]:
    """Scenes by key: ``supple``, ``stiff`` and ``tight`` (alike but for the flexor length factor) and ``trial``.

    Returns
    -------
    dict of str to Scene
        Invented people at an invented bench; ``trial`` is a published recipe.
    """
    bench = _shipped("bench")
    hands = {
        key: bench.replace("hand.flexor_length_factor", factor).replace("title", title)
        for key, (factor, title) in _HANDS.items()
    }
    return {**hands, "trial": _shipped("trial")}


def _shipped(name: str) -> Scene:
    return Scene.loads((files("graspwave.simulator.scenes") / f"{name}.toml").read_text("utf-8"))
