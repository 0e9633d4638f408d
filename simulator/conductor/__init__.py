"""The solved volume conductor of a forearm: from pads on the skin to the field at every motor axon's end.

``mesh`` and ``solve`` hold the numerics, ``limb`` the forearm, ``places`` the axons, ``make_maps`` writes the maps that
``pads`` reads and ``axons`` turns into what ``graspwave.simulator.field`` hands on. ``closed_forms`` is what all is checked with.
"""

from __future__ import annotations

from graspwave.simulator.conductor.axons import FieldAtAxons, field_at_axons, muscles_under
from graspwave.simulator.conductor.pads import field_from_pads
from graspwave.simulator.conductor.places import finger_slips

__all__ = ["FieldAtAxons", "field_at_axons", "field_from_pads", "finger_slips", "muscles_under"]
