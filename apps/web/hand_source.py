"""The JavaScript that draws the hand, with the colours of the look. No Panel here: pages without components use it too."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import numpy as np

from graspwave.apps.look.tokens import LIGHT_GLOW, SKIN, colours
from graspwave.simulator.hand.geometry import skeleton_of
from graspwave.simulator.hand.parameters import scene_hand
from graspwave.simulator.scene import Hand

__all__ = ["scene_source"]

_HERE = Path(__file__).parent


def scene_source() -> str:
    """Return the module that draws the scene: the colours of the look, the shape, the view from the tips, then the drawing.

    The files are joined because a component's module cannot import a neighbour by a relative path.
    """
    names = ("hand/shape.js", "hand/tips.js", "hand/scene.js")
    files = ((_HERE / name).read_text(encoding="utf-8") for name in names)
    return "\n".join((_tables(), *files))


def _tables() -> str:
    """Tones of the skin by theme, and what a token is where no page says so."""
    skin = {theme: {tone: themes[theme] for tone, themes in SKIN.items()} for theme in ("light", "dark")}
    plain = {name.replace("_", "-"): value for name, value in colours("light").items()}
    glow = {tone: colours("dark")["current_f"] for tone in LIGHT_GLOW}
    named = (("SKIN", skin), ("FALLBACK", plain), ("GLOW", glow), ("SPACE", _space()))
    return "".join(f"const {name} = {json.dumps(table)}\n" for name, table in named)


def _space() -> dict[str, list[Any]]:
    """Bones of the model's hand in space, mm: the picture has the lengths and places that the opening is worked out with."""
    bones = skeleton_of(scene_hand(), Hand().hand_length_mm)
    parts = (("head", bones.head), ("length", bones.length), ("roll", bones.roll), ("base", bones.base),
             ("thumb", bones.thumb_length), ("aim", bones.aim))
    return {name: np.round(values, 4).tolist() for name, values in parts}
