"""The JavaScript that draws the hand, with the colours of the look. No Panel here: pages without components use it too."""

from __future__ import annotations

import json
from pathlib import Path

from graspwave.apps.look.tokens import LIGHT_GLOW, SKIN, colours

__all__ = ["scene_source"]

_HERE = Path(__file__).parent


def scene_source() -> str:
    """Return the module that draws the scene: the colours of the look, the shape, then the drawing.

    The files are joined because a component's module cannot import a neighbour by a relative path.
    """
    files = ((_HERE / name).read_text(encoding="utf-8") for name in ("hand/shape.js", "hand/scene.js"))
    return "\n".join((_tables(), *files))


def _tables() -> str:
    """Tones of the skin by theme, and what a token is where no page says so."""
    skin = {theme: {tone: themes[theme] for tone, themes in SKIN.items()} for theme in ("light", "dark")}
    plain = {name.replace("_", "-"): value for name, value in colours("light").items()}
    glow = {tone: colours("dark")["current_f"] for tone in LIGHT_GLOW}
    named = (("SKIN", skin), ("FALLBACK", plain), ("GLOW", glow))
    return "".join(f"const {name} = {json.dumps(table)}\n" for name, table in named)
