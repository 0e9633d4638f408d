"""What joining costs: nothing at first, then a little reckoning that a phone does in a moment and a flood pays for each time.

A whole class may share one address, so no count of an address may ever refuse a code that is right. Who tries often, or joins in
crowds, is given a text and finds a number for which SHA-256 of both begins with so many zero bits: one try in ``2**bits`` fits.
"""

from __future__ import annotations

import hashlib
import hmac
import re
import secrets
import time
from collections import OrderedDict
from collections.abc import Callable

__all__ = ["Proofs", "fits", "price", "solve"]

_LASTS_S = 180
_USED = 50_000
_FORM = re.compile(r"([0-9]{2})([0-9a-f]{8})([0-9a-f]{12})([0-9a-f]{16})")
_NUMBER = re.compile(r"[0-9]{1,12}")


def price(joined: float, wrong: float) -> int:
    """Zero bits that a join costs.

    Parameters
    ----------
    joined : float
        Joins from the same network in about the last minute.
    wrong : float
        Wrong codes from there, likewise.

    Returns
    -------
    int
        0 for a small class. 13 (a few hundredths of a second on a phone) for a lecture hall or after ten wrong codes, 15 and 17
        (half a second, seconds on an old phone) beyond.
    """
    # the allowances fill up all the time: after ten wrong codes a little less than ten stand there
    level = max(sum(joined > step - 1 for step in (40, 300, 600)), sum(wrong > step - 1 for step in (10, 60, 200)))
    return (0, 13, 15, 17)[level]


class Proofs:
    """Texts to reckon with, each good once, for a while and for one code.

    Parameters
    ----------
    secret : str
        The same in all processes that serve one port.
    clock : callable
        Seconds since 1970.
    """

    def __init__(self, secret: str, clock: Callable[[], float] = time.time) -> None:
        self._secret, self._clock = secret.encode(), clock
        self._used: OrderedDict[str, None] = OrderedDict()

    def text(self, code: str, bits: int) -> str:
        """A new text for a code."""
        head = f"{bits:02d}{int(self._clock()) + _LASTS_S:08x}{secrets.token_hex(6)}"
        return head + self._sign(head, code)

    def paid(self, code: str, given: object, bits: int) -> bool:
        """Whether somebody reckoned for this code, at the price of now or one step below it (it may just have risen)."""
        if not isinstance(given, dict):
            return False
        text, number = given.get("text"), given.get("number")
        if not isinstance(text, str) or not isinstance(number, str) or not _NUMBER.fullmatch(number):
            return False
        found = _FORM.fullmatch(text)
        if found is None or not hmac.compare_digest(self._sign(text[:22], code), found[4]):
            return False
        if int(found[2], 16) < self._clock() or int(found[1]) < bits - 2 or text in self._used or not fits(text, number):
            return False
        self._used[text] = None
        while len(self._used) > _USED:
            self._used.popitem(last=False)
        return True

    def _sign(self, head: str, code: str) -> str:
        return hmac.new(self._secret, f"{head} {code}".encode(), hashlib.sha256).hexdigest()[:16]


def fits(text: str, number: str) -> bool:
    """Whether a number is right for a text, whose first two signs say how many bits are asked."""
    return int.from_bytes(hashlib.sha256(f"{text}:{number}".encode()).digest()[:4]) >> (32 - int(text[:2])) == 0


def solve(text: str) -> str:
    """The least number that fits, as the page finds it."""
    head, shift, number = hashlib.sha256(f"{text}:".encode()), 32 - int(text[:2]), 0
    while True:
        trial = head.copy()
        trial.update(str(number).encode())
        if int.from_bytes(trial.digest()[:4]) >> shift == 0:
            return str(number)
        number += 1
