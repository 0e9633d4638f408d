"""Notices that the store's file is no longer the one that was opened: a database writes on into one that nobody finds."""

from __future__ import annotations

import os
from collections.abc import MutableMapping
from typing import Any

__all__ = ["FileGone", "FileWatch"]

_LOG_OF_CHANGES = "-wal"


class FileGone(OSError):
    """The file was moved, deleted, replaced or cut while it was open: what is written now would be lost."""


class FileWatch:
    """Holds a file against what lies under its name now.

    Parameters
    ----------
    path : str
        The database; its log of changes lies beside it.
    """

    def __init__(self, path: str) -> None:
        self._path = path
        self._known: tuple[int, int] | None = None
        self._size = 0

    def check(self, kept: MutableMapping[Any, Any]) -> None:
        """Compare both files with those first seen; `kept` belongs to one connection and lives as long as it does.

        Raises
        ------
        FileGone
            One of them is another or gone, or the database is smaller than it was, which it never becomes by itself.
        """
        try:
            found = os.stat(self._path)
            log = os.stat(self._path + _LOG_OF_CHANGES)
        except OSError:
            raise FileGone("the store's file is gone") from None
        if self._known is None:
            self._known = _identity(found)
        if _identity(found) != self._known or found.st_size < self._size:
            raise FileGone("the store's file is another than the one opened")
        # a log stays as long as a connection is open that uses it, so each connection has seen its own
        if kept.setdefault("log of changes", _identity(log)) != _identity(log):
            raise FileGone("the log of the store's file is another than the one opened")
        self._size = found.st_size


def _identity(found: os.stat_result) -> tuple[int, int]:
    return found.st_dev, found.st_ino
