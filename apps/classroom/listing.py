"""What the command says of the rooms that are kept, and how it deletes them."""

from __future__ import annotations

import time
from pathlib import Path

from graspwave import simulator as sim
from graspwave.apps.classroom.codes import clean_code
from graspwave.apps.classroom.report import report_csv, report_html
from graspwave.apps.classroom.store import open_store

__all__ = ["delete_rooms", "list_rooms", "save_report"]


def list_rooms(where: str | Path | None) -> list[str]:
    """One line a room, oldest first.

    Raises
    ------
    SceneError
        The store cannot be used.
    """
    store = open_store(_there(where))
    try:
        rooms = store.list_rooms()
    finally:
        store.close()
    if not rooms:
        return ["no rooms"]
    return [
        f"{room['code']}  {room['slug']}  opened {_moment(room['opened'])}, kept until {_moment(room['expires'])}, "
        f"{room['joined']} joined{', ended' if room['ended'] else ''}"
        for room in rooms
    ]


def delete_rooms(where: str | Path | None, code: str | None) -> str:
    """Delete one room, or all where `code` is None; says how many.

    Raises
    ------
    SceneError
        The store cannot be used, or has no such room.
    """
    known = None if code is None else clean_code(code)
    if code is not None and known is None:
        raise sim.SceneError("code", "two words and a number", code)
    store = open_store(_there(where))
    try:
        with store.writing() as connection:
            count = store.delete(connection, known)
    finally:
        store.close()
    if code is not None and not count:
        raise sim.SceneError("code", "one of a room that is kept", code, "graspwave rooms list names them")
    return f"{count} room{'' if count == 1 else 's'} deleted"


def _there(where: str | Path | None) -> str | Path | None:
    """A store that is looked into is not made by that: a misspelt name is told."""
    if where is not None and "://" not in str(where) and not Path(where).expanduser().exists():
        raise sim.SceneError("store", "a file that is there", "nothing there", f"look at the name {where}")
    return where


def save_report(where: str | Path | None, code: str, out: Path) -> str:
    """Write one room's report, as a page or as a table by how the file's name ends; says where.

    Raises
    ------
    SceneError
        The store cannot be used or has no such room, or the file ends in something else.
    """
    known = clean_code(code)
    if known is None:
        raise sim.SceneError("code", "two words and a number", code)
    if out.suffix.lower() not in (".html", ".csv"):
        raise sim.SceneError("out", "a file that ends in .html or .csv", str(out))
    store = open_store(_there(where))
    try:
        found = store.all_answers(known)
        lesson = None if found is None else store.lesson(found[0]["digest"])
    finally:
        store.close()
    if found is None or lesson is None:
        raise sim.SceneError("code", "one of a room that is kept", code, "graspwave rooms list names them")
    text = (report_html if out.suffix.lower() == ".html" else report_csv)(lesson, *found)
    out.parent.mkdir(parents=True, exist_ok=True)
    out.write_text(text, "utf-8")
    return str(out)


def _moment(seconds: float) -> str:
    return time.strftime("%Y-%m-%d %H:%M UTC", time.gmtime(seconds))
