"""Shares as whole numbers that add up to the whole as it is shown. Stage ``adding``, before ``why``.

The method of largest remainders (Hamilton's; Balinski and Young 1982, *Fair Representation*): every share is rounded down, and
what the whole still lacks goes, one each, to those that lost most by it. Of shares that add up to less than one beside the whole
none is off by one or more, and none changes its sign.
"""

from __future__ import annotations

import math
from collections.abc import Mapping

__all__ = ["adding_up"]


def adding_up(shares: Mapping[str, float], whole: int) -> dict[str, int]:
    """Whole numbers that add up to `whole`.

    Parameters
    ----------
    shares : mapping of str to float
        They add up to about `whole`, as shares of a change do whose two ends were rounded.
    whole : int

    Examples
    --------
    >>> adding_up({"up": 5.24, "down": -18.94, "slips": -1.87, "closers": -2.58}, -18)
    {'up': 5, 'down': -19, 'slips': -2, 'closers': -2}
    """
    found = {name: math.floor(share) for name, share in shares.items()}
    if not found:
        return found
    every, lacking = divmod(whole - sum(found.values()), len(found))
    most = sorted(shares, key=lambda name: (found[name] - shares[name], name))[:lacking]
    return {name: mm + every + (name in most) for name, mm in found.items()}
