"""Inner loops of hand and muscle as compiled code: plain Python functions that numba compiles, and where the result is kept.

A function under `compiled` runs alike uncompiled (``NUMBA_DISABLE_JIT=1``): there is one text of every
equation. What was compiled is kept in a folder named after a digest of all those texts, so that a changed equation never
runs from an old cache; where no folder can be written the loops are compiled in memory at each start. numba is loaded with
the first hand or tiring muscle that is computed, not before.
"""

from __future__ import annotations

import hashlib
import os
import shutil
import sys
import tempfile
from collections.abc import Callable
from functools import cache
from pathlib import Path
from typing import Any, TypeVar, cast

__all__ = ["LOOPS", "cache_folder", "compiled", "inlined", "is_kept", "uncounted"]

LOOPS = ("compiling", "hand/ray", "hand/whole", "hand/walk", "hand/space", "hand/lag", "muscle/path")
"""Modules whose texts the compiled code follows from, as seen from here."""

_Function = TypeVar("_Function", bound=Callable[..., Any])
_NAME = "graspwave-hand-"


def compiled(function: _Function) -> _Function:
    """The function compiled at its first call: no checks of its input, the interpreter's lock let go while it runs."""
    return _compiled(function, {})


def uncounted(function: _Function) -> _Function:
    """As `compiled`, where no array is made and none given back, not even a part: who holds those it is given is not counted.

    Counting took half of a loop's time. An array given back uncounted would be freed while it is in use.
    """
    return _compiled(function, _uncounted())


def inlined(function: _Function) -> _Function:
    """As `uncounted`, for a small function that is called from one: its code stands in its callers', which halves their time."""
    return _compiled(function, {**_uncounted(), "forceinline": True})


def _uncounted() -> dict[str, Any]:
    """The compiler's option for it, where it still has that."""
    from numba.core.options import DefaultOptions

    return {"_nrt": False} if hasattr(DefaultOptions, "_nrt") else {}


def _compiled(function: _Function, how: dict[str, Any]) -> _Function:
    import numba
    from numba.core import config

    settings: Any = config
    before, folder = settings.CACHE_DIR, cache_folder()
    njit: Any = numba.njit
    how = {**how, "nogil": True, "error_model": "numpy"}
    try:
        if folder is not None:
            settings.CACHE_DIR = str(folder)
        try:
            return cast("_Function", njit(cache=folder is not None, **how)(function))
        except RuntimeError:  # no place that numba would write to
            return cast("_Function", njit(**how)(function))
    finally:
        settings.CACHE_DIR = before


def places() -> list[Path]:
    """Folders that the compiled loops may be kept in, the first that can be written to is taken."""
    home = os.environ.get("XDG_CACHE_HOME") or os.path.join(os.path.expanduser("~"), ".cache")
    return [Path(__file__).parent / "__pycache__", Path(home) / "graspwave"]


def told(words: str) -> None:
    """Say a line to whoever started the program."""
    sys.stderr.write(f"graspwave: {words}\n")


@cache
def cache_folder() -> Path | None:
    """Folder of the compiled loops: beside their texts, else the user's cache, else none where neither can be written."""
    for place in places():
        folder = place / (_NAME + _digest())
        try:
            folder.mkdir(parents=True, exist_ok=True)
            with tempfile.TemporaryFile(dir=folder):
                pass
        except OSError:
            continue
        return folder
    told("The hand's loops are compiled in memory: no folder to keep them can be written to.")
    return None


def is_kept() -> bool:
    """Whether the folder holds compiled loops of these texts already."""
    folder = cache_folder()
    return folder is not None and any(folder.rglob("*.nbc"))


def forget_older() -> None:
    """Remove what was compiled from other texts, in the folder in use."""
    folder = cache_folder()
    if folder is not None:
        for other in folder.parent.glob(_NAME + "*"):
            if other != folder:
                shutil.rmtree(other, ignore_errors=True)


def _digest() -> str:
    texts = b"".join((Path(__file__).parent / f"{name}.py").read_bytes() for name in LOOPS)
    return hashlib.sha256(texts).hexdigest()[:16]
