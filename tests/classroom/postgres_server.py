"""A PostgreSQL of a test's own: in a temporary folder, on a socket file only, ended with the block."""

from __future__ import annotations

import os
import shutil
import signal
import subprocess
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

import sqlalchemy as sa

__all__ = ["Postgres", "binaries", "postgres"]


def binaries() -> Path | None:
    """Folder of PostgreSQL's programs on this machine, or None."""
    found = shutil.which("initdb")
    places = [Path(found).resolve().parent] if found else sorted(Path("/usr/lib/postgresql").glob("*/bin"))
    return next((place for place in places if (place / "postgres").exists()), None)


class Postgres:
    """A database server that can be stopped and started again."""

    def __init__(self, folder: Path, programs: Path, *, sure: bool) -> None:
        self._folder, self._programs, self._sure = folder, programs, sure
        # the server refuses to run as root
        self._as: dict[str, Any] = {}
        if os.geteuid() == 0:
            self._as = {"user": "nobody", "group": "nogroup", "extra_groups": []}
            shutil.chown(folder, "nobody", "nogroup")
        self._process: subprocess.Popen[bytes] | None = None
        run = [str(programs / "initdb"), "-D", str(folder / "data"), "-U", "rooms", "--auth=trust", "--locale=C", "-E", "UTF8",
               "--no-sync"]
        subprocess.run(run, check=True, stdout=subprocess.DEVNULL, cwd=folder, **self._as)

    @property
    def url(self) -> str:
        return f"postgresql://rooms@/postgres?host={self._folder}"

    def start(self) -> None:
        command = [str(self._programs / "postgres"), "-D", str(self._folder / "data"), "-k", str(self._folder), "-h", "",
                   *(() if self._sure else ("-c", "fsync=off")), "-c", "max_connections=60"]
        log = (self._folder / "log").open("ab")
        self._process = subprocess.Popen(command, stdout=log, stderr=log, cwd=self._folder, **self._as)
        log.close()
        ready = [str(self._programs / "pg_isready"), "-q", "-h", str(self._folder)]
        while subprocess.run(ready, check=False).returncode != 0:
            assert self._process.poll() is None, (self._folder / "log").read_text("utf-8")

    def stop(self) -> None:
        """End it at once, with every line to it."""
        if self._process is not None:
            self._process.send_signal(signal.SIGINT)
            self._process.wait(timeout=20)
            self._process = None

    def clear(self) -> None:
        """Take all tables away."""
        engine = sa.create_engine(self.url.replace("postgresql:", "postgresql+psycopg:"), isolation_level="AUTOCOMMIT")
        with engine.connect() as connection:
            connection.execute(sa.text("drop schema public cascade"))
            connection.execute(sa.text("create schema public"))
        engine.dispose()


@contextmanager
def postgres(*, sure: bool = False) -> Iterator[Postgres]:
    """A running server; with `sure` it waits for the disk, as one in use does."""
    programs = binaries()
    assert programs is not None
    folder = Path(tempfile.mkdtemp(prefix="gw-pg-"))
    server: Postgres | None = None
    try:
        server = Postgres(folder, programs, sure=sure)
        server.start()
        yield server
    finally:
        if server is not None:
            server.stop()
        shutil.rmtree(folder, ignore_errors=True)
