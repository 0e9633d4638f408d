"""The pages that exist, once: for the links of every page and for the server."""

from __future__ import annotations

__all__ = ["PAGES"]

PAGES = (("explore", "Explore"), ("practise", "Practise"), ("teach", "Teach"), ("explain", "Explain"))
"""Address and name, in the order of the links."""
