"""Numbers of a carried file in few letters, and nothing lost: `apps/web/packed.js` reads what this writes.

Values that were rounded to some decimals become whole numbers, each written as its difference from the one before: base 64 of
variable length, five bits a letter, lowest first, the sign in the lowest bit of all, as source maps have it.
"""

from __future__ import annotations

from typing import Any

import numpy as np

__all__ = ["packed"]

_LETTERS = "ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz0123456789+/"
_LEAST = 12
"""Shorter lists are left as they are."""

_MOST_DIGITS = 6


def packed(value: Any) -> Any:
    """The same value with its long lists of numbers packed.

    Parameters
    ----------
    value : JSON value
        Lists may hold lists, where all have the same shape.

    Returns
    -------
    JSON value
        A packed list is ``{"$": [decimals, shape, letters]}``.
    """
    if isinstance(value, dict):
        return {key: packed(of) for key, of in value.items()}
    if not isinstance(value, list):
        return value
    found = _array(value) if len(value) >= _LEAST else None
    return [packed(one) for one in value] if found is None or not found.size else _list(found)


def _array(value: list[Any]) -> np.ndarray | None:
    """The list as an array of numbers; None where it is something else, or ragged."""
    if not _plain(value):
        return None
    try:
        found = np.array(value, dtype=float)
    except (TypeError, ValueError):
        return None
    return found if np.isfinite(found).all() and _digits(found) is not None else None


def _plain(value: Any) -> bool:
    if isinstance(value, list):
        return all(_plain(one) for one in value)
    return isinstance(value, (int, float)) and not isinstance(value, bool)


def _digits(found: np.ndarray) -> int | None:
    """Fewest decimals with which every value comes back exactly; None where there are too many."""
    for digits in range(_MOST_DIGITS + 1):
        whole = np.rint(found * 10.0**digits)
        if np.abs(whole).max(initial=0.0) < 2**45 and np.array_equal(whole / 10.0**digits, found):
            return digits
    return None


def _list(found: np.ndarray) -> Any:
    digits = _digits(found)
    assert digits is not None
    whole = np.rint(found * 10.0**digits).astype(np.int64).reshape(len(found), -1).T
    steps = np.diff(whole, axis=1, prepend=0)
    return {"$": [digits, list(found.shape), "".join(_letters(int(step)) for step in steps.ravel())]}


def _letters(step: int) -> str:
    left = -step * 2 + 1 if step < 0 else step * 2
    out = ""
    while True:
        six, left = left & 31, left >> 5
        out += _LETTERS[six | 32 if left else six]
        if not left:
            return out
