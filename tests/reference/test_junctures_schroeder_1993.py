"""How far the index takes the middle finger along: von Schroeder, Botte 1993, J Hand Surg Am 18A:641 (cadaver, abstract).

Pulled alone, the index's slip gives the middle finger 32 % of its own largest way at the knuckle; 22 % with the junctures (and
fascia) cut, 5 % with the web cut too. The index's own extensor (EIP) does the same. The two ties here are fitted to the first two
numbers; with both cut nothing is left here but the wrist, which is held. The traction is ours (25 N); not noted in the abstract.
"""

from __future__ import annotations

import numpy as np
import pytest
from record import Rows

from graspwave.simulator.hand import HandModel, changed, posture_under, relaxed_posture, standard_hand
from graspwave.simulator.scene import Hand

PART = "Hand"

WITHIN = 0.05  # no spread is printed; pulls of 15 to 30 N give 0.34 to 0.37 and 0.22 to 0.23
PULL_N = 25.0
CUT = {"junctures": {"neighbours__juncture_n_mm": (0.0,) * 3},
       "junctures and web": {"neighbours__juncture_n_mm": (0.0,) * 3, "neighbours__web_nmm_rad": (0.0,) * 3}}


def passed_on(model: HandModel, pulled: str = "index.EDC", pull_n: float = PULL_N) -> float:
    """Way of the middle finger's MCP under a pull beside it, over its way under its own."""
    rest = relaxed_posture(Hand(), 0.0, model=model)["MCP"]
    beside, own = (posture_under(Hand(), {tendon: pull_n}, 0.0, model=model)["MCP"] for tendon in (pulled, "middle.EDC"))
    return float((rest - beside) / (rest - own))


def test_the_index_takes_the_middle_finger_along(row: Rows) -> None:
    model = standard_hand()
    what = "share of its way that the middle finger is taken along by the index's extensor"
    row(what, passed_on(model), 0.32 - WITHIN, 0.32 + WITHIN, published=0.32, unit="1", source="schroeder-1993")
    row(f"{what}, junctures cut", passed_on(changed(model, **CUT["junctures"])), 0.22 - WITHIN, 0.22 + WITHIN, published=0.22,
        unit="1", source="schroeder-1993")
    row(f"{what}, web cut too", passed_on(changed(model, **CUT["junctures and web"])), 0.0, 0.05 + WITHIN, published=0.05,
        unit="1", source="schroeder-1993", note="nothing else joins them here")


def test_its_own_extensor_does_the_same() -> None:
    assert passed_on(standard_hand(), "EIP") == pytest.approx(passed_on(standard_hand()), abs=0.02)


@pytest.mark.parametrize("change", [*CUT.values(), {"neighbours__juncture_n_mm": (1.0, 1.0, 1.0)}])
def test_other_ties_fail(change: dict[str, tuple[float, ...]]) -> None:
    assert abs(passed_on(changed(standard_hand(), **change)) - 0.32) > WITHIN


def test_more_is_passed_on_between_the_ulnar_fingers() -> None:
    """Published in words, "because of the junctures"; no number."""
    def to(finger: str, pulled: str) -> float:
        joint = f"{finger}.MCP"
        rest = relaxed_posture(Hand(), 0.0)[joint]
        beside, own = (posture_under(Hand(), {f"{name}.EDC": PULL_N}, 0.0)[joint] for name in (pulled, finger))
        return float((rest - beside) / (rest - own))

    shares = np.array([to("ring", "middle"), to("little", "ring")])
    assert (shares > passed_on(standard_hand())).all()
    assert (shares < 1.0).all()
