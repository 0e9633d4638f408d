"""Fixtures of the room's tests: stores of both kinds, and servers in processes of their own."""

from __future__ import annotations

import sys
from collections.abc import Iterator
from pathlib import Path

import pytest

sys.path.insert(0, str(Path(__file__).parent))

from postgres_server import Postgres, binaries, postgres
from room_server import Servers, servers

from graspwave.apps.classroom.store import Store, open_store


@pytest.fixture(scope="session")
def database() -> Iterator[Postgres]:
    """A PostgreSQL server, where its programs are on this machine."""
    if binaries() is None:
        pytest.skip("no PostgreSQL on this machine: install the package 'postgresql'")
    with postgres() as server:
        yield server


@pytest.fixture(params=["sqlite", "postgresql"])
def address(request: pytest.FixtureRequest, tmp_path: Path) -> str:
    """Where an empty store is, of either kind."""
    if request.param == "sqlite":
        return str(tmp_path / "rooms.sqlite")
    server: Postgres = request.getfixturevalue("database")
    server.clear()
    return server.url


@pytest.fixture
def store(address: str) -> Iterator[Store]:
    """An empty store of either kind."""
    opened = open_store(address)
    yield opened
    opened.close()


@pytest.fixture(scope="session")
def _servers() -> Iterator[Servers]:
    with servers() as several:
        yield several


@pytest.fixture
def services(_servers: Servers) -> Iterator[Servers]:
    """Begins servers; those that are left end with the test."""
    yield _servers
    _servers.end_all()
