"""The published myelinated cable: what wakes an axon, by shape, width, gap, polarity and place (stage axon).

`axon_threshold`, `velocity_m_s`, `spike_mv` and `fire` run the cable; `threshold_field_v_m` reads a table made from it
(``python -m graspwave.simulator.axon.make_table``) in microseconds.
"""

from __future__ import annotations

from graspwave.simulator.axon.spikes import Firing, fire, spike_mv, velocity_m_s
from graspwave.simulator.axon.table import threshold_field_v_m
from graspwave.simulator.axon.thresholds import axon_threshold

__all__ = ["axon_threshold", "velocity_m_s", "spike_mv", "fire", "Firing", "threshold_field_v_m"]
