"""The gate: tokens, where a request comes from, how often, and what a message may be. Nothing of it is written down."""

from __future__ import annotations

import hashlib
import hmac
import json
import re
import secrets
import time
from base64 import b64encode
from collections import OrderedDict
from collections.abc import Callable, Collection, Mapping, Sequence
from ipaddress import ip_address
from typing import Any
from urllib.parse import urlsplit

from graspwave.apps.classroom.proof import Proofs, price

__all__ = [
    "LIMITS", "MESSAGE_BYTES", "Buckets", "Gate", "content_policy", "hashed", "known_host", "new_token", "parse_message", "same",
    "same_origin", "security_headers",
]

MESSAGE_BYTES = 16 * 1024
"""Longest message or body that is read."""

LIMITS: Mapping[str, tuple[float, float]] = {
    # by address, which a whole school may share: these two refuse nobody, they make joining dearer (see `proof`)
    "join": (5.0, 1000.0),  # a second, at once
    "wrong": (1 / 6, 300.0),
    "open": (1 / 6, 20.0),
    "preview": (10.0, 40.0),
    "report": (1.0, 20.0),
    "answer": (10.0, 20.0),  # by learner
    "bench": (12.0, 24.0),  # by learner, whose page asks ten times a second at most; by address for those who work alone
    "bench_address": (40.0, 80.0),
    "message": (20.0, 60.0),  # all that one line sends
}
"""Allowed events a second and at once."""

_DEPTH = 6
_KEPT = 20_000


def new_token() -> str:
    """A secret nobody can guess, for one person in one room."""
    return secrets.token_urlsafe(32)


def hashed(token: str) -> str:
    """What of a token is stored."""
    return hashlib.sha256(token.encode("utf-8", "replace")).hexdigest()


def same(one: str, other: str) -> bool:
    """Whether two texts are equal, in a time that does not tell where they differ."""
    return hmac.compare_digest(one.encode("utf-8", "replace"), other.encode("utf-8", "replace"))


class Buckets:
    """Allowances that fill up over time, one a key, in memory only.

    One that has filled up again says nothing and is forgotten: each page that comes back is another key, for days. Beyond so many
    the longest unused are forgotten first.

    Parameters
    ----------
    rate : float
        Events a second in the long run.
    burst : float
        Events at once.
    clock : callable
        Seconds, never going back.
    """

    def __init__(self, rate: float, burst: float, clock: Callable[[], float] = time.monotonic) -> None:
        self.rate, self.burst, self._clock = rate, burst, clock
        self._left: OrderedDict[str, tuple[float, float]] = OrderedDict()

    def left(self, key: str) -> float:
        """Events that `key` has left now."""
        now = self._clock()
        level, then = self._left.get(key, (self.burst, now))
        return min(self.burst, level + (now - then) * self.rate)

    def take(self, key: str) -> bool:
        """Use up one event; False where none is left."""
        left, now = self.left(key), self._clock()
        allowed = left >= 1.0
        self._keep(key, left - 1.0 if allowed else left)
        full = now - self.burst / self.rate  # whoever was last here then is full again
        while len(self._left) > _KEPT or next(iter(self._left.values()))[1] < full:
            self._left.popitem(last=False)
        return allowed

    def give(self, key: str) -> None:
        """Take one event back: it was counted before it was known to be none."""
        self._keep(key, min(self.burst, self.left(key) + 1.0))

    def _keep(self, key: str, level: float) -> None:
        self._left[key] = (level, self._clock())
        self._left.move_to_end(key)  # the longest unused stand first


class Gate:
    """Rate limits and the educator's key of one process.

    Parameters
    ----------
    key : str or None
        What opening a room needs; None where only this machine is served.
    hosts : tuple of str
        Names under which the server may be addressed; empty for any. Guards a server of this machine against foreign names
        that were pointed at it.
    clock : callable
        Seconds, never going back.
    secret : str
        What signs the texts of `proof`; drawn where not given.
    """

    def __init__(self, key: str | None = None, hosts: tuple[str, ...] = (), clock: Callable[[], float] = time.monotonic,
                 secret: str = "") -> None:
        self.key, self.hosts = key, hosts
        self.proofs = Proofs(secret or new_token())
        self._buckets = {name: Buckets(rate, burst, clock) for name, (rate, burst) in LIMITS.items()}
        # an address is only ever held as this: it cannot be read back, and the salt dies with the process
        self._salt = secrets.token_bytes(16)

    def address(self, request: Any) -> str:
        """The sender's address in a form that cannot be read back."""
        return hashlib.blake2b((request.remote_ip or "").encode(), key=self._salt, digest_size=16).hexdigest()

    def take(self, kind: str, key: str) -> bool:
        """Use up one of `kind`'s events (a key of `LIMITS`) for `key`; False where none is left."""
        return self._buckets[kind].take(key)

    def give(self, kind: str, key: str) -> None:
        """Take back one of `kind`'s events that turned out to be none."""
        self._buckets[kind].give(key)

    def may_try(self, address: str) -> bool:
        """Whether an address may try a code that gives more than a learner's place: not after ten wrong ones."""
        return self._buckets["wrong"].burst - self._buckets["wrong"].left(address) <= 9.0

    def price(self, address: str) -> int:
        """What a join from an address costs now, in bits of `proof`."""
        return price(*(self._buckets[kind].burst - self._buckets[kind].left(address) for kind in ("join", "wrong")))

    def key_fits(self, given: object) -> bool:
        """Whether somebody may open rooms here."""
        return self.key is None or (isinstance(given, str) and same(given, self.key))


def known_host(request: Any, names: Collection[str]) -> bool:
    """Whether a request calls this server by a name or address that it has.

    A foreign name that was pointed at this machine reaches it as well; a page under that name could then read what it answers.

    Parameters
    ----------
    request : tornado.httputil.HTTPServerRequest
    names : collection of str
        Names that it has. An address is its own where the line arrived at it.
    """
    try:
        host = (urlsplit(f"//{request.host}").hostname or "").rstrip(".")
        if host in names:
            return True
        wanted = ip_address(host.partition("%")[0])
        came_to = ip_address(request.connection.stream.socket.getsockname()[0].partition("%")[0])
    except (AttributeError, OSError, ValueError, TypeError, IndexError):
        return False
    return wanted == (getattr(came_to, "ipv4_mapped", None) or came_to)


def same_origin(headers: Mapping[str, str], host: str, hosts: tuple[str, ...] = ()) -> bool:
    """Whether a request comes from a page of this server, or from no page at all.

    Parameters
    ----------
    headers : mapping
        Of the request.
    host : str
        What the request calls this server.
    hosts : tuple of str
        Names allowed for it, without port; empty for any.
    """
    if hosts and (urlsplit(f"//{host}").hostname or "") not in hosts:
        return False
    origin = headers.get("Origin")
    if origin is not None and urlsplit(origin).netloc.lower() != host.lower():
        return False
    return headers.get("Sec-Fetch-Site", "same-origin") in ("same-origin", "none")


def parse_message(text: str | bytes) -> dict[str, Any]:
    """A message as a dict of plain values.

    Raises
    ------
    ValueError
        Not text, too long, not a JSON object, too deep, a number that is none, or text that cannot be stored.
    """
    if isinstance(text, bytes):
        text = text.decode("utf-8")  # UnicodeDecodeError is a ValueError
    if len(text) > MESSAGE_BYTES:
        raise ValueError("too long")
    try:
        message = json.loads(text, parse_constant=_no_constant)
    except RecursionError:
        raise ValueError("too deep") from None
    if not isinstance(message, dict):
        raise ValueError("no object")
    _check(message, _DEPTH)
    return message


def _no_constant(name: str) -> float:
    raise ValueError(f"{name} is no number")


def _check(value: object, depth: int) -> None:
    if depth < 0:
        raise ValueError("too deep")
    if isinstance(value, str):
        if "\x00" in value:
            raise ValueError("not text")
        value.encode("utf-8")  # half of a pair cannot be stored; UnicodeEncodeError is a ValueError
    elif isinstance(value, bool) or value is None:
        return
    elif isinstance(value, (int, float)):
        if not abs(value) <= 1e15:  # neither infinity nor what is no number passes
            raise ValueError("not a number")
    elif isinstance(value, dict):
        for key, item in value.items():
            _check(key, depth - 1)
            _check(item, depth - 1)
    elif isinstance(value, list):
        for item in value:
            _check(item, depth - 1)


_INLINE = re.compile(r"<script(?P<head>[^>]*)>(?P<body>.*?)</script>", re.DOTALL | re.IGNORECASE)


def content_policy(html: str, host: str, scripts: Sequence[str] = (), *, framed: str = "'none'") -> str:
    """The content policy of a page: files of this server only, and of inline scripts just the page's own, by digest.

    `scripts` are further sources of scripts, `framed` says which pages may show this one inside them.
    Style texts may be inline, for pictures set style on their parts; they can fetch nothing.
    """
    own = [
        f"'sha256-{b64encode(hashlib.sha256(found['body'].encode()).digest()).decode()}'"
        for found in _INLINE.finditer(html) if "src=" not in found["head"] and found["body"]
    ]
    # older browsers do not count the line to this server as 'self'
    line = f" ws://{host} wss://{host}" if re.fullmatch(r"[A-Za-z0-9.\-\[\]:]+", host) else ""
    return "; ".join([
        "default-src 'self'", " ".join(["script-src 'self'", *own, *scripts]),
        "style-src 'self' 'unsafe-inline'", "img-src 'self' data:",
        f"connect-src 'self'{line}", "object-src 'none'", "base-uri 'none'", "form-action 'self'", f"frame-ancestors {framed}",
    ])


def security_headers() -> dict[str, str]:
    """Headers that all answers of the room's routes carry."""
    return {
        "X-Content-Type-Options": "nosniff", "X-Frame-Options": "DENY", "Referrer-Policy": "no-referrer",
        "Cross-Origin-Opener-Policy": "same-origin", "Cross-Origin-Resource-Policy": "same-origin",
        "Permissions-Policy": "camera=(), microphone=(), geolocation=()", "Cache-Control": "no-store",
    }
