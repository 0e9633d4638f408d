"""What a page's models keep of their defaults: nothing that is empty.

Whoever reads a property that was never set is given a list, a dictionary or a set of its own, kept in case it is filled later.
Listing a page's models and writing it out reads them all: some three thousand empty ones a page, each with a set of who owns it
beside it, and half of the memory of a session. They are let go of again; who reads one later is given a new one, as at first.
"""

from __future__ import annotations

import sys

from bokeh.core.property.wrappers import PropertyValueContainer
from bokeh.document import Document

__all__ = ["forget_empty"]

_HELD_HERE = 3
"""References to one that nobody else has: the model's, the one below, and the question's own."""


def forget_empty(document: Document) -> int:
    """Let go of the empty defaults that a page's models hold and nobody has filled or is about to fill; how many there were."""
    count = 0
    for model in document.models:
        kept, held = {}, model._unstable_default_values
        for name in held:
            value = held[name]
            if value or not isinstance(value, PropertyValueContainer) or sys.getrefcount(value) > _HELD_HERE:
                kept[name] = value
        if len(kept) < len(held):
            count += len(held) - len(kept)
            model._unstable_default_values = kept  # a dictionary that lost its entries stays as large as it was
    return count
