"""Two machines in a network of their own: two namespaces of the system, joined by one cable, without a way to anywhere else."""

from __future__ import annotations

import os
import shutil
import subprocess
import uuid
from collections.abc import Iterator, Sequence
from contextlib import contextmanager

__all__ = ["SERVER_ADDRESS", "inside", "two_machines", "why_not"]

SERVER_ADDRESS, PHONE_ADDRESS = "198.51.100.1", "198.51.100.2"
"""Addresses for documentation (RFC 5737)."""


def _ip(*words: str) -> None:
    subprocess.run(["ip", *words], check=True, capture_output=True)


def why_not() -> str:
    """Why namespaces cannot be made here; empty where they can."""
    if shutil.which("ip") is None:
        return "no 'ip' on this machine: install the package 'iproute2'"
    if os.geteuid() != 0:
        return "network namespaces need the rights of root"
    name = f"gw{uuid.uuid4().hex[:8]}"
    made = subprocess.run(["ip", "netns", "add", name], capture_output=True, text=True)
    if made.returncode:
        return f"network namespaces are not permitted here: {made.stderr.strip()}"
    subprocess.run(["ip", "netns", "del", name], check=True)
    return ""


def inside(name: str, command: Sequence[str]) -> list[str]:
    """A command as it runs inside a namespace."""
    return ["ip", "netns", "exec", name, *command]


@contextmanager
def two_machines() -> Iterator[tuple[str, str]]:
    """Names of two namespaces with one address each and a cable between them; neither has a default route."""
    mark = uuid.uuid4().hex[:6]
    server, phone = f"gws{mark}", f"gwp{mark}"
    made: list[str] = []
    try:
        for name in (server, phone):
            _ip("netns", "add", name)
            made.append(name)
            _ip("-n", name, "link", "set", "lo", "up")
        _ip("link", "add", f"vs{mark}", "netns", server, "type", "veth", "peer", "name", f"vp{mark}", "netns", phone)
        for name, end, address in ((server, f"vs{mark}", SERVER_ADDRESS), (phone, f"vp{mark}", PHONE_ADDRESS)):
            _ip("-n", name, "addr", "add", f"{address}/24", "dev", end)
            _ip("-n", name, "link", "set", end, "up")
        yield server, phone
    finally:
        for name in made:
            _ip("netns", "del", name)
