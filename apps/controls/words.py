"""What the model says in words and numbers: notices, and the thread of the chain."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any, ClassVar

import param

from graspwave.apps.controls.base import Control, check_quantity, script

__all__ = ["KINDS", "Finding", "Notices", "Thread"]

KINDS = ("inside", "close", "over")


def _notice(item: Mapping[str, str]) -> dict[str, str]:
    kind = item.get("kind", "")
    if kind not in KINDS:
        known = ", ".join(KINDS)
        raise ValueError(f"'kind' must be one of {known} (got {kind!r}). Choose the one the number calls for.")
    return {"kind": kind, "text": str(item.get("text", "")), "strong": str(item.get("strong", ""))}


def _link(item: Mapping[str, str]) -> dict[str, str]:
    return {
        "quantity": check_quantity(item.get("quantity", "")),
        "value": str(item.get("value", "")),
        "words": str(item.get("words", "")),
        "kept": str(item.get("kept", "")),
        "explain": str(item.get("explain", "")),
    }


class Finding(Control):
    """The finding above a plot, as words that wrap: a title drawn by a plot is cut off where the page is narrow.

    Parameters
    ----------
    text
        One sentence made by the model.
    """

    text = param.String(default="")

    _esm: ClassVar[str] = script("finding")


class Notices(Control):
    """Notices of the dose: a sign, words and a border for each; colour is never the only difference.

    Parameters
    ----------
    items
        One mapping a notice: `kind` (``"inside"``, ``"close"`` or ``"over"``), `text`, and if wanted `strong`, a bold
        sentence before the text. Set it anew to change the list; changes are spoken politely.
    empty
        Words when the list is empty.
    """

    items = param.List(default=[])
    empty = param.String(default="No notices.")

    _esm: ClassVar[str] = script("notices")

    def __init__(self, items: Sequence[Mapping[str, str]] = (), **params: Any) -> None:
        super().__init__(items=[_notice(item) for item in items], **params)

    # Panel's own show() opens a server, which makes no sense for a part of a page.
    def show(  # type: ignore[override]
        self, items: Sequence[Mapping[str, str]]
    ) -> None:
        """Replace the list, with the same checks as on making."""
        self.items = [_notice(item) for item in items]


class Thread(Control):
    """The chain as dots with numbers, in the order of cause: across when wide, down when narrow.

    Parameters
    ----------
    items
        One mapping a link: `quantity` (whose colour), `value` (number with its unit, ready to show), `words`; and if wanted
        `kept`, the number of a pinned hand, and `explain`, what the words mean, shown when they are tapped.
    label
        Name of the list for those who hear the page.
    """

    items = param.List(default=[])
    label = param.String(default="The chain, from current to opening")

    _esm: ClassVar[str] = script("thread")

    def __init__(self, items: Sequence[Mapping[str, str]] = (), **params: Any) -> None:
        super().__init__(items=[_link(item) for item in items], **params)

    # Panel's own show() opens a server, which makes no sense for a part of a page.
    def show(  # type: ignore[override]
        self, items: Sequence[Mapping[str, str]]
    ) -> None:
        """Replace the numbers, with the same checks as on making."""
        self.items = [_link(item) for item in items]

    def sentence(self) -> str:
        """Return the chain as one sentence, for the name of a picture."""
        return ", ".join(f"{item['words']} {item['value']}" for item in self.items) + "." if self.items else ""
