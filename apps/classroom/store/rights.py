"""Who may lead a room or show its wall: who opened it, and whoever was invited."""

from __future__ import annotations

import sqlalchemy as sa

from graspwave.apps.classroom.codes import new_invitation
from graspwave.apps.classroom.gate import hashed, new_token, same
from graspwave.apps.classroom.store.rooms import Rooms
from graspwave.apps.classroom.store.tables import RIGHTS, ROOMS

__all__ = ["Rights"]

_INVITED_S = 600.0


class Rights(Rooms):
    """Tokens and invitations; only their digests are kept."""

    def invite(self, connection: sa.Connection, code: str, role: str) -> str:
        """A short code that gives the right to lead the room or show its wall once, for ten minutes; only its digest is kept."""
        self.locked(connection, code)
        words = new_invitation()
        connection.execute(sa.insert(RIGHTS).values(
            hash=hashed(words), room=code, role=f"invite {role}", until=self.now() + _INVITED_S))
        return words

    def redeem(self, connection: sa.Connection, words: str) -> tuple[str, str, str] | None:
        """Room, role and a token for an invitation, which is used up; None where it is none, or too old."""
        asked = sa.select(RIGHTS.c.room, RIGHTS.c.role).where((RIGHTS.c.hash == hashed(words)) & (RIGHTS.c.until > self.now()))
        row = connection.execute(asked).first()
        if row is None or not connection.execute(sa.delete(RIGHTS).where(RIGHTS.c.hash == hashed(words))).rowcount:
            return None
        role = row.role.removeprefix("invite ")
        return row.room, role, self.entitle(connection, row.room, role)

    def entitle(self, connection: sa.Connection, code: str, role: str) -> str:
        """One more token that leads the room, or shows its wall."""
        token = new_token()
        connection.execute(sa.insert(RIGHTS).values(hash=hashed(token), room=code, role=role, until=None))
        return token

    def educator(self, code: str, token: str, role: str = "control") -> bool:
        """Whether a token opened this room, or was given the right to lead it; for role ``wall``, to show it."""
        roles = ("control",) if role == "control" else ("control", "wall")
        with self.reading() as connection:
            kept = connection.scalar(sa.select(ROOMS.c.token_hash).where(ROOMS.c.code == code))
            given = connection.scalar(sa.select(RIGHTS.c.hash).where(
                (RIGHTS.c.room == code) & (RIGHTS.c.hash == hashed(token)) & RIGHTS.c.role.in_(roles)))
        return kept is not None and (same(hashed(token), kept) or same(hashed(token), given or ""))
