"""Files that the command writes: whole or not at all, and never over another without being told to."""

from __future__ import annotations

import contextlib
import os
import sys
from collections.abc import Mapping
from pathlib import Path

from graspwave import simulator as sim

__all__ = ["may_write", "write_all"]


def may_write(files: list[Path], force: bool) -> None:
    """Ask before files that are there are written over; where nobody can be asked, refuse.

    Raises
    ------
    SceneError
        One of them is there, and nobody said that it may go.
    """
    there = [file for file in files if file.exists()]
    if not there or force:
        return
    named = ", ".join(str(file) for file in there)
    if sys.stdin is not None and sys.stdin.isatty():
        sys.stderr.write(f"graspwave: write over {named}? [y/N] ")
        sys.stderr.flush()
        if sys.stdin.readline().strip().lower() in ("y", "yes"):
            return
    raise sim.SceneError("out", "a place where nothing is written over", named, "give another, or --force")


def write_all(texts: Mapping[Path, str | bytes]) -> None:
    """Write files: each under another name first, then all put in their places."""
    made: list[tuple[Path, Path]] = []
    try:
        for file, text in texts.items():
            file.parent.mkdir(parents=True, exist_ok=True)
            begun = file.with_name(f".{file.name}.{os.getpid()}")
            made.append((begun, file))
            begun.write_bytes(text if isinstance(text, bytes) else text.encode())
        for begun, file in made:
            begun.replace(file)
    except BaseException:
        for begun, _ in made:
            with contextlib.suppress(OSError):
                begun.unlink()
        raise
