"""What the field hands on; its numbers are held against closed forms beside the conductor."""

from __future__ import annotations

import numpy as np

from graspwave import simulator as sim
from graspwave.simulator.field import field_at_axons, muscles_under


def test_swapping_leads_leaves_the_two_way_field_alone() -> None:
    scene = sim.presets()["supple"]
    pads = scene.channel[0].pads
    swapped = scene.replace("channel.0.pads.swap", True).channel[0].pads
    one, other = field_at_axons(pads, scene.hand), field_at_axons(swapped, scene.hand)
    assert np.allclose(one.either_way, other.either_way)
    assert not np.allclose(one.facing, other.facing)
    assert np.all(one.facing <= one.either_way + 1e-12)


def test_every_muscle_has_a_force() -> None:
    for limb in ("forearm", "upper arm"):
        for name in muscles_under(sim.Pads(limb=limb)):
            assert sim.all_facts()[f"architecture.{name.lower()}.force_n"].value > 0.0
