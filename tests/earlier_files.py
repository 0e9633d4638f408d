"""Files that earlier versions wrote, kept as they were written: what a person has at home must still open and draw.

``earlier/first_day.toml`` is the first form of a scene; ``one_finger`` is of the version before four fingers, whose postures
have the middle finger's names only; ``by_finger`` of an early one that names every finger. Both have a scene, its address, a
run's table and summary, and a store of rooms: one room at a bench, one at a film.
"""

from __future__ import annotations

import csv
import json
import sqlite3
from contextlib import closing
from pathlib import Path
from typing import Any

import numpy as np

__all__ = ["FOLDER", "VERSIONS", "columns", "restore", "rooms", "summary", "table"]

FOLDER = Path(__file__).parent / "earlier"
VERSIONS = ("one_finger", "by_finger")

_LONG_S = 1e9
_OWN = ('INSERT INTO "lessons"', 'INSERT INTO "rooms"')


def restore(store: Path) -> None:
    """A store as the oldest version left it, with the rooms of the next one beside; they have not run out."""
    with closing(sqlite3.connect(store)) as kept:
        for version in VERSIONS:
            text = (FOLDER / version / "rooms.sql").read_text("utf-8")
            if version != VERSIONS[0]:
                text = "\n".join(line for line in text.splitlines() if line.startswith(_OWN))
            kept.executescript(text)
        kept.execute("UPDATE rooms SET expires = expires + ?", (_LONG_S,))
        kept.commit()


def rooms(version: str) -> tuple[str, str]:
    """Codes of a version's rooms: at the bench, at the film."""
    with closing(sqlite3.connect(":memory:")) as read:
        read.executescript((FOLDER / version / "rooms.sql").read_text("utf-8"))
        (bench,), (film,) = read.execute("SELECT code FROM rooms ORDER BY step").fetchall()
    return bench, film


def table(version: str) -> dict[str, np.ndarray]:
    """Columns of a run's table, by name."""
    return columns((FOLDER / version / "run.csv").read_text("utf-8"))


def columns(text: str) -> dict[str, np.ndarray]:
    """Columns of a table, by name."""
    lines = text.splitlines()
    head, *rows = csv.reader(line for line in lines if not line.startswith("#"))
    return dict(zip(head, np.array(rows, dtype=float).T, strict=True))


def summary(version: str) -> dict[str, Any]:
    """A run's summary."""
    return dict(json.loads((FOLDER / version / "run.json").read_text("utf-8")))
