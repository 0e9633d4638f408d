"""How rooms are served: on which address, from which store, under which names."""

from __future__ import annotations

import os
import socket
from dataclasses import dataclass, field

__all__ = ["LOCAL", "Settings", "served_names"]

LOCAL = ("127.0.0.1", "localhost", "::1")


@dataclass(frozen=True)
class Settings:
    """How rooms are served.

    Parameters
    ----------
    store : str or None
        File or address of the store; the user's own file where None.
    host : str
        Address to listen on.
    key : str or None
        What opening a room needs; None where only this machine is served.
    keep_s : float
        How long a room is kept after it was last used.
    home : str
        Address of the other pages where another port serves them, as ``:port``; empty where this one does.
    secret : str
        What several processes of one port sign with; drawn by each where empty.
    lessons : tuple of str
        Files and folders of an educator's own lessons.
    """

    store: str | None = None
    host: str = "127.0.0.1"
    key: str | None = None
    keep_s: float = 24 * 3600.0
    home: str = ""
    secret: str = field(default="", repr=False)
    lessons: tuple[str, ...] = ()


def served_names(host: str) -> tuple[str, ...]:
    """Names under which a server on `host` may be addressed besides the addresses at which it is reached.

    ``GRASPWAVE_NAMES`` adds others, parted by commas: a name that a network gave this machine.
    """
    if host in LOCAL:
        return LOCAL
    own = socket.gethostname().lower()
    short = own.partition(".")[0]
    more = [name.strip().lower() for name in os.environ.get("GRASPWAVE_NAMES", "").split(",")]
    return tuple({"localhost", host, own, short, f"{short}.local", *filter(None, more)})
