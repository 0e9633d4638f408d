"""The words that expressions in lessons may use: three hands that can be called with changes, and what can be asked of them.

Every word is in `NAMES`. They only ask the simulator; results are remembered by scene in bounded stores (`clear` forgets
them). What is asked wrongly comes back as `simulator.SceneError`; what a writer should know is kept for `warned`.
"""

from __future__ import annotations

import math
from typing import Any

import numpy as np

from . import curve, half_hour, moments, plain, safety
from .memory import clear, warned
from .scenes import LessonScene, callable_scene, lesson_scenes, short_names

__all__ = ["NAMES", "LessonScene", "callable_scene", "clear", "lesson_scenes", "short_names", "warned"]

_KEPT_BACK = ("Half", "PARTS", "groups")

NAMES: dict[str, Any] = {
    **lesson_scenes(),
    **{name: getattr(module, name) for module in (curve, moments, half_hour, plain, safety) for name in module.__all__
       if name not in _KEPT_BACK},
    "abs": abs, "all": all, "any": any, "bool": bool, "float": float, "int": int, "len": len, "list": list,
    "max": max, "min": min, "round": round, "sorted": sorted, "sum": sum, "tuple": tuple, "zip": zip,
    "array": np.array, "argmax": np.argmax, "argmin": np.argmin, "diff": np.diff, "exp": np.exp, "interp": np.interp,
    "log": np.log, "ptp": np.ptp, "sqrt": np.sqrt, "where": np.where, "inf": math.inf, "pi": math.pi,
}
"""Every name an expression may use."""
