"""One thread that writes: what waits together is kept in one transaction, and said to be kept only after that is on the disk."""

from __future__ import annotations

import asyncio
import logging
import queue
import threading
from collections.abc import Callable, Sequence
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass
from typing import Any, TypeVar

import sqlalchemy as sa

from graspwave.apps.classroom.room import RoomError
from graspwave.apps.classroom.store import Closed, Store
from graspwave.apps.classroom.store.file_watch import FileGone

__all__ = ["NOT_KEPT", "NotKept", "Reader", "Writer", "why_not_kept"]

_LOG = logging.getLogger(__name__)
_T = TypeVar("_T")
_TOGETHER = 256
_WAITING = 4096

NOT_KEPT = "That could not be kept just now. It is tried again."


class NotKept(Exception):
    """The store did not take it; nothing of it was kept, and it may be sent again. The text is plain."""


def why_not_kept(error: BaseException) -> str:
    """A plain sentence for a failure of the store."""
    if isinstance(error, FileGone):
        return ("The file that keeps this room's answers was moved, deleted or replaced while the server ran. Nothing is kept "
                "any more. Put it back, or start the server again and open a new room.")
    said = str(getattr(error, "orig", None) or error).lower()
    if "full" in said or "no space" in said or "disk" in said:
        return "The server's disk is full. Nothing is lost here: it is tried again."
    if "locked" in said or "busy" in said or "timeout" in said:
        return "The server's store is busy. It is tried again."
    if "readonly" in said or "read-only" in said:
        return "The server's store cannot be written. It is tried again."
    return "The server cannot reach its store. It is tried again."


@dataclass
class _Job:
    work: Callable[[sa.Connection], Any]
    room: str
    loop: asyncio.AbstractEventLoop
    done: asyncio.Future[Any]


class Writer:
    """Runs changes, several in one transaction.

    Parameters
    ----------
    store : Store
    """

    def __init__(self, store: Store) -> None:
        self._store = store
        self._waiting: queue.Queue[_Job | None] = queue.Queue(maxsize=_WAITING)
        self._thread = threading.Thread(target=self._run, name="graspwave-writer", daemon=True)
        self._started = False

    def submit(self, work: Callable[[sa.Connection], _T], room: str = "") -> asyncio.Future[_T]:
        """Have `work` run inside a transaction; its result arrives once that is committed.

        Where `room` names one, all servers learn that something in it is new.

        The future raises `Closed` or `RoomError` as `work` does (the others of the transaction are kept all the same), and
        `NotKept` where the store failed.
        """
        loop = asyncio.get_running_loop()
        done: asyncio.Future[_T] = loop.create_future()
        if not self._started:
            self._started = True
            self._thread.start()
        try:
            self._waiting.put_nowait(_Job(work, room, loop, done))
        except queue.Full:
            done.set_exception(NotKept("The server has too much to do. It is tried again."))
        return done

    def stop(self) -> None:
        """End once all that waits is done."""
        if self._started:
            self._waiting.put(None)
            self._thread.join(timeout=10.0)

    def _run(self) -> None:
        while True:
            jobs = [self._waiting.get()]
            while len(jobs) < _TOGETHER and jobs[-1] is not None:
                try:
                    jobs.append(self._waiting.get_nowait())
                except queue.Empty:
                    break
            last = jobs[-1] is None
            # rooms are locked in one order, so that two servers never wait for each other
            self._commit(sorted((job for job in jobs if job is not None), key=lambda job: job.room))
            if last:
                return

    def _commit(self, jobs: Sequence[_Job]) -> None:
        """One transaction for all; where one of them cannot be written, each in a transaction of its own."""
        if not jobs:
            return
        try:
            with self._store.writing() as connection:
                results = [_attempt(job, connection) for job in jobs]
                self._store.touch(connection, [
                    job.room for job, result in zip(jobs, results, strict=True)
                    if job.room and not isinstance(result, Exception)])
        except Exception as error:  # whatever a job's fault is, it must not end the thread that writes
            if len(jobs) > 1 and not _outage(error):
                for job in jobs:
                    self._commit([job])
                return
            results = [_refused(error)] * len(jobs)
        by_loop: dict[asyncio.AbstractEventLoop, list[tuple[_Job, Any]]] = {}
        for job, result in zip(jobs, results, strict=True):
            by_loop.setdefault(job.loop, []).append((job, result))
        for loop, told in by_loop.items():
            try:
                loop.call_soon_threadsafe(_tell, told)
            except RuntimeError:  # the loop has ended, and with it all who would have been told
                _LOG.debug("nobody left to tell")


def _attempt(job: _Job, connection: sa.Connection) -> Any:
    try:
        return job.work(connection)
    except (Closed, RoomError) as error:
        return error


def _outage(error: Exception) -> bool:
    """Whether the store itself fails, so that trying each change alone would fail too."""
    lost = isinstance(error, sa.exc.DBAPIError) and error.connection_invalidated
    return lost or isinstance(error, (sa.exc.OperationalError, sa.exc.InterfaceError, sa.exc.TimeoutError, OSError))


def _refused(error: Exception) -> NotKept:
    if not isinstance(error, (sa.exc.SQLAlchemyError, OSError)):
        _LOG.error("a change failed", exc_info=error)
        return NotKept(NOT_KEPT)
    _LOG.warning("store: %s", str(getattr(error, "orig", None) or error).splitlines()[0])
    return NotKept(why_not_kept(error))


def _tell(told: Sequence[tuple[_Job, Any]]) -> None:
    for job, result in told:
        if job.done.done():
            continue
        if isinstance(result, Exception):
            job.done.set_exception(result)
        else:
            job.done.set_result(result)


class Reader:
    """Runs questions to the store beside the loop, so that a slow store holds up nobody's line."""

    def __init__(self, threads: int = 2) -> None:
        self._pool = ThreadPoolExecutor(threads, thread_name_prefix="graspwave-reader")

    async def ask(self, question: Callable[..., _T], *arguments: Any) -> _T:
        """The answer of `question`.

        Raises
        ------
        NotKept
            The store did not answer.
        """
        try:
            return await asyncio.get_running_loop().run_in_executor(self._pool, question, *arguments)
        except (sa.exc.SQLAlchemyError, OSError) as error:
            raise NotKept(why_not_kept(error)) from error

    def stop(self) -> None:
        """Take no more questions."""
        self._pool.shutdown(wait=False, cancel_futures=True)
