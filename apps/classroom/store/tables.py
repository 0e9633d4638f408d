"""The tables of rooms, and their version. Nothing in them tells who a person is."""

from __future__ import annotations

from typing import Any

import sqlalchemy as sa

__all__ = [
    "ADDED", "ANSWERS", "DONE", "LEARNERS", "LESSONS", "META", "PRESENCE", "PROCESSES", "RIGHTS", "ROOMS", "SCHEMA", "SOLVED",
    "UNCLEAR", "VERSION", "WORDS",
]

SCHEMA = 2
"""Version of these tables."""

META = sa.MetaData()
VERSION = sa.Table("schema_version", META, sa.Column("version", sa.Integer, primary_key=True))
LESSONS = sa.Table(
    "lessons", META,
    sa.Column("digest", sa.String(64), primary_key=True), sa.Column("slug", sa.Text, nullable=False),
    sa.Column("compiled", sa.Text, nullable=False),
)
ROOMS = sa.Table(
    "rooms", META,
    sa.Column("code", sa.String(40), primary_key=True), sa.Column("slug", sa.Text, nullable=False),
    sa.Column("digest", sa.ForeignKey("lessons.digest"), nullable=False), sa.Column("token_hash", sa.String(64), nullable=False),
    sa.Column("step", sa.Integer, nullable=False), sa.Column("phase", sa.String(16), nullable=False),
    sa.Column("paused", sa.Boolean, nullable=False), sa.Column("roam", sa.Boolean, nullable=False),
    sa.Column("words", sa.Boolean, nullable=False), sa.Column("mirror", sa.Text),
    sa.Column("version", sa.Integer, nullable=False),
    sa.Column("tally", sa.Integer, nullable=False), sa.Column("opened", sa.Float, nullable=False),
    sa.Column("expires", sa.Float, nullable=False), sa.Column("ended", sa.Boolean, nullable=False), sa.Column("more", sa.Text),
)
ADDED = {2: ((ROOMS, "more"),)}
"""Columns by the form that brought them; a store of an older form is given them."""
LEARNERS = sa.Table(
    "learners", META,
    sa.Column("id", sa.Integer, primary_key=True),
    sa.Column("room", sa.ForeignKey("rooms.code", ondelete="CASCADE"), nullable=False),
    sa.Column("handle", sa.Text, nullable=False), sa.Column("token_hash", sa.String(64), nullable=False),
    sa.Column("joined", sa.Float, nullable=False),
    sa.UniqueConstraint("room", "handle"), sa.UniqueConstraint("room", "token_hash"),
)


def _key(name: str, target: str | None = None, **more: Any) -> sa.Column[Any]:
    kind = sa.ForeignKey(target, ondelete="CASCADE") if target else sa.Integer
    return sa.Column(name, kind, primary_key=True, autoincrement=False, **more)


ANSWERS = sa.Table(
    "answers", META, _key("room", "rooms.code"), _key("learner", "learners.id"), _key("step"), _key("round"),
    sa.Column("answer", sa.Text, nullable=False), sa.Column("sure", sa.Integer), sa.Column("at", sa.Float, nullable=False),
)
DONE = sa.Table("done", META, _key("room", "rooms.code"), _key("learner", "learners.id"), _key("step"))
WORDS = sa.Table(
    "words", META,
    sa.Column("id", sa.Integer, primary_key=True),
    sa.Column("room", sa.ForeignKey("rooms.code", ondelete="CASCADE"), nullable=False, index=True),
    sa.Column("learner", sa.ForeignKey("learners.id", ondelete="CASCADE"), nullable=False),
    sa.Column("step", sa.Integer, nullable=False), sa.Column("text", sa.Text, nullable=False),
    sa.Column("shown", sa.Boolean, nullable=False),
)
UNCLEAR = sa.Table(
    "unclear", META,
    sa.Column("id", sa.Integer, primary_key=True),
    sa.Column("room", sa.ForeignKey("rooms.code", ondelete="CASCADE"), nullable=False, index=True),
    sa.Column("learner", sa.ForeignKey("learners.id", ondelete="CASCADE"), nullable=False),
    sa.Column("step", sa.Integer, nullable=False), sa.Column("text", sa.Text, nullable=False),
)
SOLVED = sa.Table(
    "solved", META, _key("room", "rooms.code"), _key("learner", "learners.id"), _key("step"),
    sa.Column("ma", sa.Float, nullable=False), sa.Column("mm", sa.Float, nullable=False),
    sa.Column("changed", sa.Integer, nullable=False),
)
RIGHTS = sa.Table(
    "rights", META,
    sa.Column("hash", sa.String(64), primary_key=True),
    sa.Column("room", sa.ForeignKey("rooms.code", ondelete="CASCADE"), nullable=False, index=True),
    sa.Column("role", sa.String(16), nullable=False), sa.Column("until", sa.Float),
)
"""Who else may lead a room or show its wall: tokens without an end, and invitations, which are used once before theirs."""

PROCESSES = sa.Table(
    "processes", META, sa.Column("id", sa.String(32), primary_key=True), sa.Column("seen", sa.Float, nullable=False),
)
PRESENCE = sa.Table(
    "presence", META, _key("room", "rooms.code"), _key("learner", "learners.id"), _key("process", "processes.id"),
)
