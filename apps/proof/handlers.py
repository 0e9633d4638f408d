"""The route of the page "What it was checked against"."""

from __future__ import annotations

from typing import Any

from graspwave.apps.plain_route import Plain
from graspwave.apps.proof.page import proof_page

__all__ = ["proof_routes"]


class _Proof(Plain):
    def get(self) -> None:
        self.page(proof_page())

    head = get


def proof_routes() -> list[tuple[Any, ...]]:
    """For a Tornado application."""
    return [(r"/proof/?", _Proof)]
