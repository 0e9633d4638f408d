"""The store as a whole, and how one is opened."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Any

import sqlalchemy as sa

from graspwave import simulator as sim
from graspwave.apps.classroom.store.learners import Learners
from graspwave.apps.classroom.store.rights import Rights
from graspwave.apps.classroom.store.seen import Seen
from graspwave.apps.classroom.store.sent import Sent
from graspwave.apps.classroom.store.where import address_of, default_store, shown_address, trouble

__all__ = ["Store", "open_store"]


class Store(Learners, Sent, Rights, Seen):
    """The tables and all that is asked of them; use `open_store`.

    Methods that change take a connection inside a transaction, which the writer gives; the others open their own.
    """


def open_store(where: str | Path | None = None, *, check: bool = True, hook: Callable[[Any], None] | None = None) -> Store:
    """Open the store, make its tables where there are none, and check it.

    Parameters
    ----------
    where : str or Path, optional
        A file, or an address that begins with ``sqlite:///``, ``postgresql://`` or ``postgresql+psycopg://``.
    check : bool
        Whether the whole file is looked through for damage.
    hook : callable, optional
        Called with each new connection of the driver.

    Raises
    ------
    SceneError
        It cannot be used; the text says why and what to do.
    """
    if where is None:
        where = default_store()
        try:
            where.parent.mkdir(mode=0o700, parents=True, exist_ok=True)
        except OSError as error:
            raise sim.SceneError("store", "in a folder that can be made", str(where.parent), f"give another with --store "
                                 f"({error.strerror})") from None
    url = address_of(where)
    shown = shown_address(url)
    store = Store(url, hook)
    try:
        store.prepare(check)
    except sim.SceneError:
        store.close()
        raise
    except (sa.exc.SQLAlchemyError, OSError, UnicodeError) as error:
        store.close()
        raise trouble(shown, url, error) from None
    return store
