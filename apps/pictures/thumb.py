"""The model's thumb for the pictures, which name its joints otherwise."""

from __future__ import annotations

from simulator.hand import standard_hand

__all__ = ["thumb_deg"]


def thumb_deg() -> dict[str, float]:
    """Angles of the thumb, which is held still, by the names of the hand picture."""
    thumb = standard_hand().thumb
    return {"CMC": thumb.cmc_deg, "THUMB_MCP": thumb.mcp_deg, "IP": thumb.ip_deg}
