"""Where rooms are kept: SQLite in a file, or PostgreSQL for several servers. Nothing about a person but a made-up name.

Every change happens inside one transaction that `writer.Writer` opens, with the room's row locked, so that a late answer is
judged by where the room stands when it is written. `tally` of a room rises with every answer, `version` with every step.

`tables` says what is kept, `where` in which file or database, `connection` how it is opened, `file_watch` that the file is still
the one opened. `Store` is made of what is asked of it: `rooms` (open, move, delete), `learners` (who is in, who is here), `sent`
(what learners send), `rights` (who may lead or show), `seen` (what is read).
"""

from graspwave.apps.classroom.store.connection import KEEP_S
from graspwave.apps.classroom.store.learners import FULL_ROOM
from graspwave.apps.classroom.store.opened import Store, open_store
from graspwave.apps.classroom.store.rooms import Closed, Shut
from graspwave.apps.classroom.store.seen import Snapshot
from graspwave.apps.classroom.store.tables import SCHEMA
from graspwave.apps.classroom.store.where import default_store

__all__ = ["FULL_ROOM", "KEEP_S", "SCHEMA", "Closed", "Shut", "Snapshot", "Store", "default_store", "open_store"]
