"""What stands behind ``/teach-static/``: the files of this folder and the joined module that draws the hand. Stage ``apps``."""

from __future__ import annotations

import hashlib
from functools import cache
from pathlib import Path

from graspwave.apps.web.hand_source import scene_source

__all__ = ["STATIC", "hand_source", "stamp", "static_file"]

STATIC = Path(__file__).parent
_KINDS = (".js", ".css")


@cache
def hand_source() -> str:
    """The module ``hand.js``: shape, hand scene, then how a page without components shows and plays it.

    The files are the ones that draw the hand everywhere; the component's own ``render`` gives way to ``handView``.
    """
    scene = scene_source().replace("export function render(", "function renderHandScene(")
    return f"{scene}\n{(STATIC / 'hand' / 'player.js').read_text(encoding='utf-8')}"


def static_file(name: str) -> bytes | None:
    """Bytes of one file by its plain name, ``hand.js`` among them; None where there is none of that name."""
    if name == "hand.js":
        return hand_source().encode()
    path = STATIC / name
    return path.read_bytes() if Path(name).name == name and path.suffix in _KINDS and path.is_file() else None


def stamp() -> str:
    """Ten digits of a digest of all that is served there.

    The modules import each other by relative names, so the stamp belongs into the folder of the address
    (``/teach-static/<stamp>/draw.js``): one changed file then gives all of them a new address.
    """
    digest = hashlib.sha256(hand_source().encode())
    for file in sorted(file for file in STATIC.iterdir() if file.suffix in _KINDS):
        digest.update(file.name.encode() + file.read_bytes())
    return digest.hexdigest()[:10]
