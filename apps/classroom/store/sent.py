"""What learners send: answers, words, what was not understood, goals that were met."""

from __future__ import annotations

import json
from collections.abc import Mapping
from typing import Any

import sqlalchemy as sa

from graspwave.apps.classroom.store.rooms import Closed, Rooms
from graspwave.apps.classroom.store.tables import ANSWERS, DONE, SOLVED, UNCLEAR, WORDS

__all__ = ["Sent"]

_WORDS_EACH = 5


class Sent(Rooms):
    """What is kept of a learner's work in a step."""

    def answer(
        self, connection: sa.Connection, code: str, learner: int, step: int, turn: int, answer: Mapping[str, Any],
        sure: int | None,
    ) -> None:
        """Keep an answer; sent again or changed it takes the place of the first.

        Raises
        ------
        Closed
            The room does not take it now.
        """
        self.open_for(connection, code, step, turn)
        values = {"answer": json.dumps(answer, allow_nan=False), "sure": sure, "at": self.now()}
        new = self._insert(ANSWERS).values(room=code, learner=learner, step=step, round=turn, **values)
        connection.execute(new.on_conflict_do_update(index_elements=["room", "learner", "step", "round"], set_=values))

    def done(self, connection: sa.Connection, code: str, learner: int, step: int) -> None:
        """Keep that a learner is through with the step."""
        self.open_for(connection, code, step)
        connection.execute(self._insert(DONE).values(room=code, learner=learner, step=step).on_conflict_do_nothing())

    def say(self, connection: sa.Connection, code: str, learner: int, step: int, text: str) -> None:
        """Keep words, unseen by all but the educator until shown; the same words of the same learner are kept once."""
        room = self.open_for(connection, code, step)
        if not room.words:
            raise Closed("Words are not asked for now.")
        own = (WORDS.c.room == code) & (WORDS.c.learner == learner) & (WORDS.c.step == step)
        said = list(connection.scalars(sa.select(WORDS.c.text).where(own)))
        if text in said:
            return
        if len(said) >= _WORDS_EACH:
            raise Closed(f"That is enough for this step: {_WORDS_EACH} at most.")
        connection.execute(sa.insert(WORDS).values(room=code, learner=learner, step=step, text=text, shown=False))

    def unclear(self, connection: sa.Connection, code: str, learner: int, step: int, text: str) -> None:
        """Keep that something is not understood, in words or in none; always taken while the room goes on."""
        if self.locked(connection, code).ended:
            raise Closed("This room has ended.")
        own = (UNCLEAR.c.room == code) & (UNCLEAR.c.learner == learner) & (UNCLEAR.c.step == step)
        said = list(connection.scalars(sa.select(UNCLEAR.c.text).where(own)))
        if text in said or (not text and said):
            return
        if len(said) >= _WORDS_EACH:
            raise Closed(f"That is enough for this step: {_WORDS_EACH} at most.")
        if said == [""]:
            connection.execute(sa.delete(UNCLEAR).where(own))
        connection.execute(sa.insert(UNCLEAR).values(room=code, learner=learner, step=step, text=text))

    def solved(
        self, connection: sa.Connection, code: str, learner: int, step: int, ma: float, mm: float, changed: int,
    ) -> None:
        """Keep with what a learner met the step's goal; the least current is kept."""
        self.open_for(connection, code, step)
        values = {"ma": ma, "mm": mm, "changed": changed}
        new = self._insert(SOLVED).values(room=code, learner=learner, step=step, **values)
        connection.execute(new.on_conflict_do_update(
            index_elements=["room", "learner", "step"], set_=values, where=SOLVED.c.ma > ma))

    def show_words(self, connection: sa.Connection, code: str, number: int, shown: bool) -> None:
        """Show words to all, or take them back."""
        connection.execute(sa.update(WORDS).where((WORDS.c.id == number) & (WORDS.c.room == code)).values(shown=shown))
