"""All that dose and load of a scene have to say, in one list: every page, report and sheet tells from it."""

from __future__ import annotations

import dataclasses

from graspwave.simulator.dose import Notice, dose_of, worst_first
from graspwave.simulator.electrode import load_voltage, skin_under
from graspwave.simulator.scene import Scene

__all__ = ["Notice", "notices_of"]


def notices_of(scene: Scene) -> tuple[Notice, ...]:
    """How every channel of a scene stands to every limit of its dose, and what its output meets at the pads.

    Parameters
    ----------
    scene : Scene

    Returns
    -------
    tuple of Notice
        What is passed first, then what is close; each with its `key` and the channel that it is about.

    Examples
    --------
    >>> from graspwave import simulator as sim
    >>> scene = sim.presets()["tight"].replace("channel.0.pads.size_cm2", 4).replace("channel.0.pulse.amplitude_ma", 60)
    >>> [notice.key for notice in sim.notices_of(scene) if notice.kind == "over"]
    ['density', 'charge', 'voltage']
    """
    found: list[Notice] = []
    for index, channel in enumerate(scene.channel):
        found += dose_of(scene, index).notices
        load = load_voltage(channel.pulse, skin_under(channel.pads))
        found += [dataclasses.replace(notice, channel=index) for notice in load.notices]
    return tuple(worst_first(found))
