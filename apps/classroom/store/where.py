"""Which file or database a store lies in, and what is said of one that cannot be used."""

from __future__ import annotations

import importlib.util
import os
from pathlib import Path

import sqlalchemy as sa

from graspwave import simulator as sim

__all__ = ["address_of", "damaged", "default_store", "shown_address", "trouble"]


def default_store() -> Path:
    """The file that is used where none is given, in the user's own data folder."""
    home = os.environ.get("XDG_DATA_HOME", "")
    try:
        return (Path(home) if os.path.isabs(home) else Path.home() / ".local" / "share") / "graspwave" / "rooms.sqlite"
    except RuntimeError:
        raise sim.SceneError("store", "given where this user has no folder of its own", "none", "name a file with --store"
                             ) from None


def address_of(where: str | Path) -> sa.URL:
    text = str(where)
    if "://" not in text:
        url = sa.URL.create("sqlite", database=os.path.abspath(os.path.expanduser(text)))
    else:
        try:
            url = sa.make_url(text)
        except (sa.exc.ArgumentError, ValueError):
            raise sim.SceneError("store", "a file or an address", text.split("@")[-1]) from None
    if url.drivername in ("postgresql", "postgres"):
        url = url.set(drivername="postgresql+psycopg")
    if url.drivername not in ("sqlite", "postgresql+psycopg"):
        raise sim.SceneError("store", "a file or an address that begins with sqlite:/// or postgresql://", shown_address(url))
    if url.drivername == "postgresql+psycopg" and importlib.util.find_spec("psycopg") is None:
        raise sim.SceneError("store", "one whose driver is installed", shown_address(url), "pip install graspwave[postgres]")
    if url.drivername == "sqlite":
        if url.database in (None, "", ":memory:"):
            raise sim.SceneError("store", "a file that lasts", text, "name a file")
        path = Path(str(url.database).removeprefix("file:"))
        if not path.parent.is_dir():
            raise sim.SceneError("store", "in a folder that exists", str(path), f"make the folder {path.parent} first")
        if path.is_dir():
            raise sim.SceneError("store", "a file", str(path), "name a file inside that folder")
    return url


def shown_address(url: sa.URL) -> str:
    """The address without its password; a file as its path."""
    return str(url.database) if url.drivername == "sqlite" else url.render_as_string(hide_password=True)


def trouble(shown: str, url: sa.URL, error: Exception) -> sim.SceneError:
    said = str(getattr(error, "orig", None) or error).strip().splitlines()[0]
    low = said.lower()
    if "readonly" in low or "read-only" in low or "permission" in low:
        return sim.SceneError("store", "one that can be written", shown,
                              "give it leave to be written, or name another with --store")
    if "not a database" in low:
        return sim.SceneError("store", "a file of rooms", shown, "it is something else; name another with --store")
    if "malformed" in low or "corrupt" in low:
        return damaged(shown)
    if "locked" in low:
        return sim.SceneError("store", "free", shown, "another program holds it; end that program or name another file")
    if "full" in low:
        return sim.SceneError("store", "on a disk with room left", shown, "make room, or name a file on another disk")
    if url.drivername != "sqlite":
        return sim.SceneError("store", "a database that answers", shown,
                              f"start it, and check address, user and password ({said})")
    return sim.SceneError("store", "a file that can be used", shown, said)


def damaged(shown: str) -> sim.SceneError:
    return sim.SceneError("store", "a whole file", shown, "it is damaged; put a copy back, or move it away to begin anew")
