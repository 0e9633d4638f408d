"""Pads on a limb -> the electric field where each motor axon ends, for one milliampere.

The stage that later ones call; the solved forearm behind it is `simulator.conductor`. Pads are an integral over its maps of the
skin, so they can be moved at any rate. The upper arm, for a channel over the triceps, is a half-space: a stated simplification.
"""

from __future__ import annotations

from graspwave.simulator.conductor import FieldAtAxons, field_at_axons, finger_slips, muscles_under

__all__ = ["FieldAtAxons", "field_at_axons", "finger_slips", "muscles_under"]
