"""What JavaScript knows from Python: one module, made from the same tables that Python reads. Stage ``apps``."""

from __future__ import annotations

import json
from typing import Any

import numpy as np

from graspwave.apps.told.posture import DRAWN_ARM_MM, NEUTRAL_PADS_MM, STRONGEST_MA
from graspwave.apps.web.tokens import LIGHT_GLOW, SKIN, colours
from graspwave.simulator.hand.geometry import skeleton_of
from graspwave.simulator.hand.parameters import scene_hand
from graspwave.simulator.scene import Hand

__all__ = ["given", "given_source"]


def given() -> dict[str, Any]:
    """What the module exports, by name: tones of the skin by theme, what a token is where no page says so, scales of the hand."""
    return {
        "FOREARM_MM": DRAWN_ARM_MM,
        "NEUTRAL_PADS": NEUTRAL_PADS_MM,
        "SPACE": _space(),
        "STRONGEST_MA": STRONGEST_MA,
        "SKIN": {theme: {tone: themes[theme] for tone, themes in SKIN.items()} for theme in ("light", "dark")},
        "GLOW": {tone: colours("dark")["current_f"] for tone in LIGHT_GLOW},
        "FALLBACK": {name.replace("_", "-"): value for name, value in colours("light").items()},
    }


def given_source() -> str:
    """Text of the module ``given.js``."""
    lines = (f"export const {name} = {json.dumps(value)}" for name, value in given().items())
    return "// Made from Python's own tables when the server starts.\n" + "\n".join(lines) + "\n"


def _space() -> dict[str, list[Any]]:
    """Bones of the model's hand in space, mm: the picture has the lengths and places that the opening is worked out with."""
    bones = skeleton_of(scene_hand(), Hand().hand_length_mm)
    parts = (("head", bones.head), ("length", bones.length), ("roll", bones.roll), ("base", bones.base),
             ("thumb", bones.thumb_length), ("aim", bones.aim))
    return {name: np.round(values, 4).tolist() for name, values in parts}
