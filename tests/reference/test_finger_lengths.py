"""Lengths of fingers beside each other: 598 adults (Binvignat, Almagia, Lizana, Olave, Int J Morphol, abstract read: sums of the
segments, right hands of men index 104.2, middle 115, ring 109.1, little 88.5 mm; of women 91, 100.4, 94.4, 75.8); and 51 adults
(Chatzioglou and others 2024, Anat Cell Biol 57:172, abstract: 63.9, 70.7, 65.5, 53.3 mm, measured otherwise and further from us).
It checks the shares of the first bones, which are recalled.
"""

from __future__ import annotations

import pytest
from record import Rows

from graspwave import simulator as sim

PART = "Hand"

MEN_MM = {"index": 104.2, "middle": 115.0, "ring": 109.1, "little": 88.5}
WOMEN_MM = {"index": 91.0, "middle": 100.4, "ring": 94.4, "little": 75.8}
NEAR = 0.03
"""Men and women differ by up to 0.015 from each other; as much again for what calipers over skin take for a bone."""


def shares() -> dict[str, float]:
    """Each finger's three bones over the middle finger's."""
    facts = sim.all_facts()
    bones = [
        [facts[f"hand.bones.{bone}"].value * one for one in facts[f"hand.fingers.{bone}"].value]
        for bone in ("proximal", "middle", "distal")
    ]
    whole = [sum(parts) for parts in zip(*bones, strict=True)]
    return {name: one / whole[1] for name, one in zip(MEN_MM, whole, strict=True)}


@pytest.mark.parametrize("finger", ["index", "ring", "little"])
def test_fingers_are_as_long_beside_the_middle_one_as_published(finger: str, row: Rows) -> None:
    men, women = (mm[finger] / mm["middle"] for mm in (MEN_MM, WOMEN_MM))
    low, high = min(men, women) - NEAR, max(men, women) + NEAR
    row(f"length of the {finger} finger over the middle one's", shares()[finger], low, high, published=men, source="binvignat")


def test_twin() -> None:
    assert abs(shares()["little"] - MEN_MM["index"] / MEN_MM["middle"]) > NEAR
