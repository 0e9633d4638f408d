"""Addresses under which other devices reach this machine: of its interfaces, and its name where the network knows it."""

from __future__ import annotations

import ipaddress
import socket
import threading
from collections.abc import Iterable
from dataclasses import dataclass

import ifaddr
import segno

__all__ = ["Address", "addresses", "ask_for_name", "own_addresses", "qr_svg", "this_machine", "web_address"]

_VIRTUAL = ("docker", "br-", "veth", "virbr", "vmnet", "vboxnet", "utun", "tailscale", "zt", "cni", "flannel")
_known: list[str] = []


@dataclass(frozen=True)
class Address:
    """One way to this machine: `host` as it stands in an address, `on` the interface's name in the system's words."""

    host: str
    on: str


def own_addresses() -> list[Address]:
    """Addresses of this machine's interfaces that others can reach, likeliest first; empty where it is in no network.

    Loopback is never among them. Addresses that a machine gave itself (RFC 3927, RFC 4291) and those of bridges and tunnels for
    other programs come last. Version 6 is named only where there is no version 4.
    """
    found: list[tuple[int, Address]] = []
    for adapter in ifaddr.get_adapters():
        for entry in adapter.ips:
            text = entry.ip[0] if isinstance(entry.ip, tuple) else entry.ip
            address = ipaddress.ip_address(text)
            if address.is_loopback or address.is_multicast or address.is_unspecified:
                continue
            if address.version == 6 and address.is_link_local:
                continue  # needs a zone, which no phone can type
            name = str(adapter.nice_name)
            rank = 4 * (address.version == 6) + 2 * name.lower().startswith(_VIRTUAL) + address.is_link_local
            found.append((rank, Address(f"[{text}]" if address.version == 6 else text, name)))
    found.sort(key=lambda item: item[0])
    plain = [one for rank, one in found if rank < 4]
    return plain or [one for _, one in found]


def ask_for_name(wait_s: float = 0.0) -> None:
    """Ask the network, beside all else, whether it knows this machine as ``name.local`` (RFC 6762); wait that long at most."""
    host = socket.gethostname().split(".")[0]

    def ask() -> None:
        try:
            answered = {str(info[4][0]) for info in socket.getaddrinfo(f"{host}.local", None, socket.AF_INET)}
        except (OSError, UnicodeError):
            return  # the network does not know the name
        if answered & {one.host for one in own_addresses()} and f"{host}.local" not in _known:
            _known.append(f"{host}.local")

    asking = threading.Thread(target=ask, daemon=True)
    asking.start()
    if wait_s:
        asking.join(wait_s)


def addresses() -> list[Address]:
    """`own_addresses`, and last this machine's own name, where the network is known to know it."""
    found = own_addresses()
    return [*found, *(Address(name, "by name") for name in _known)] if found else []


def this_machine(ip: str, own: Iterable[Address] | None = None) -> bool:
    """Whether a sender's address is this machine itself."""
    try:
        address = ipaddress.ip_address(ip.split("%")[0])
    except ValueError:
        return False
    mapped = getattr(address, "ipv4_mapped", None)
    address = mapped or address
    hosts = {one.host.strip("[]") for one in (own_addresses() if own is None else own)}
    return address.is_loopback or str(address) in hosts


def web_address(host: str, port: int) -> str:
    """``http://host`` with its port, unless that is the usual one."""
    return f"http://{host}" if port == 80 else f"http://{host}:{port}"


def qr_svg(address: str) -> str:
    """An address as a picture code in the page's ink, to stand on a surface of the page."""
    code = segno.make_qr(address, error="m")
    svg = code.svg_inline(dark="#123456", light=None, border=2, omitsize=True)
    return svg.replace("#123456", "currentColor").replace("<svg ", '<svg aria-hidden="true" ', 1)
