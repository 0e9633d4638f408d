"""Words of the page, each explained when it is tapped."""

from __future__ import annotations

from html import escape
from typing import Any

import panel as pn

from graspwave.apps.told.arms import drawn_words
from graspwave.apps.web.source import sheet

__all__ = ["WORDS", "glossary"]

WORDS = (
    ("called in", "A nerve fibre is woken by the pulse or it is not; the share that is woken is called in. Each calls in all of "
     "its muscle fibres."),
    ("claw", "Base joints past straight, middle joints bent. The opener's pull ends at the base joints; its slips over the "
     "fingers hang slack. It begins while the middle joint is bent less than 60 degrees."),
    ("goes over / back", "At this current the hand leaps into another posture: two postures are at rest at the same current. On "
     "the way down it leaps back at a lower one."),
    ("mirrored, uneven, one way", "Mirrored: the second phase is the first, the other way round. Uneven: it is lower and "
     "longer. Both bring the charge back. One way: nothing brings it back, which harms the skin."),
    ("other arms", drawn_words()),
    ("tone", "The pull that closers keep up without being asked, a share of their full force."),
    ("stretch reflex", "A quick stretch makes the closers answer; a slow one does not."),
    ("k", "A thousand: 4 k ohm are 4000 ohm."),
    ("slips", "The opener's tendon parts over each finger: a middle slip to the middle joint, side slips to the end joint."),
    ("EDC, EIP, EDM", "Openers of the fingers (extensor digitorum; of the index alone; of the little finger alone)."),
    ("ECRL, ECRB, ECU", "Lifters of the wrist, on the thumb's and the little finger's side."),
    ("FDP, FDS", "Closers of the fingers, deep and shallow (flexor digitorum)."),
    ("FCR, FCU, PL", "Benders of the wrist."),
    ("APL, EPB, EPL, FPL", "Muscles of the thumb: three that open it, one that bends it."),
    ("INT", "Small muscles in the hand: they bend the base joints and straighten the middle ones."),
)
"""Word and what it means."""


def glossary() -> Any:
    """The list; each word folds open."""
    rows = "".join(f"<details><summary>{escape(word)}</summary><p>{escape(text)}</p></details>" for word, text in WORDS)
    look = [sheet("explore/glossary.css")]
    return pn.pane.HTML(f"<div class='list'>{rows}</div>", sizing_mode="stretch_width", margin=0, stylesheets=look)
