"""Scenes to start from, each with a title of our own story."""

from __future__ import annotations

from functools import cache
from importlib.resources import files

from graspwave.simulator.scene import Scene

__all__ = ["presets"]

_HANDS = {"supple": (1.00, 0.0008, "Potting bench, supple hand"), "stiff": (0.9953, 0.0045, "Potting bench, stiff hand"),
          "tight": (0.95, 0.007, "Potting bench, tight hand")}
"""Flexor length factor and resting tone of the closers; all else alike. 1.00 and 0.95 are lengths of a published experiment
(source binder-markey-2019), of which 0.98 claws already. A supple hand has next to no tone, a severely affected one much (source
kamper-2006, in words); sizes invented. The stiff hand has a tone between the two, and nearly the shortest length at which no
joint of it turns by more than 15 degrees with half a milliampere more: its middle joints give way little by little."""


def presets() -> dict[str, Scene]:
    """Scenes by key: ``supple``, ``stiff`` and ``tight`` (alike but for length and tone of the closers) and ``trial``.

    Returns
    -------
    dict of str to Scene
        Invented people at an invented bench; ``trial`` is a published recipe.

    Examples
    --------
    >>> from graspwave import simulator as sim
    >>> sorted(sim.presets())
    ['stiff', 'supple', 'tight', 'trial']
    """
    return dict(_presets())  # a table of its own for every caller, who may change it


@cache
def _presets() -> dict[str, Scene]:
    bench = _shipped("bench")
    hands = {
        key: bench.replace("hand.flexor_length_factor", factor).replace("hand.finger_tone", tone).replace("title", title)
        for key, (factor, tone, title) in _HANDS.items()
    }
    return {**hands, "trial": _shipped("trial")}


def _shipped(name: str) -> Scene:
    return Scene.loads((files("graspwave.simulator.scenes") / f"{name}.toml").read_text("utf-8"))
