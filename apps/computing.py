"""Heavy work beside the server: a few processes, a time limit for each piece of work, and a queue that says how long it is.

The loop that serves pages and rooms never works such things out itself, nor does a thread of it, which would hold it up as well.
A process that takes too long is ended and another begun; it ends by itself when the server does. Stage ``apps``.
"""

from __future__ import annotations

import atexit
import os
import pickle
import queue
import struct
import subprocess
import sys
import threading
import time
from collections.abc import Callable
from concurrent.futures import Future
from typing import Any

__all__ = ["LIMIT_S", "Busy", "Computing", "TooLong", "computing"]

LIMIT_S = 20.0
"""Longest that one piece of work may take, unless it says otherwise."""

_WAITING = 32
_START_S = 60.0
_HEAD = struct.Struct(">Q")


class Busy(Exception):
    """Too much waits already; the text is plain and says how long it may take."""


class TooLong(Exception):
    """It took longer than it may, and was stopped; the text is plain."""


class Computing:
    """A bounded number of processes, each with one piece of work at a time.

    Parameters
    ----------
    processes : int
    waiting : int
        Most pieces of work that wait.
    """

    def __init__(self, processes: int, waiting: int = _WAITING) -> None:
        self._count = processes
        self._waiting: queue.Queue[tuple[Future[Any], bytes, float]] = queue.Queue(maxsize=waiting)
        self._lock = threading.Lock()
        self._begun = 0
        self._mean_s = 1.0

    def submit(self, work: Callable[..., Any], *given: Any, limit_s: float = LIMIT_S) -> Future[Any]:
        """Have `work`, a function of a module, done with `given`; both go to another process and back.

        The future raises what `work` raises, or `TooLong`.

        Raises
        ------
        Busy
            Too much waits.
        """
        done: Future[Any] = Future()
        with self._lock:
            if self._begun < self._count:
                self._begun += 1
                threading.Thread(target=self._serve, daemon=True, name=f"graspwave-computing-{self._begun}").start()
        try:
            self._waiting.put_nowait((done, pickle.dumps((work, given)), limit_s))
        except queue.Full:
            raise Busy(f"Others are waiting: it would take about {self.wait_s():.0f} s. Try again then.") from None
        return done

    def wait_s(self) -> float:
        """About how long a new piece of work waits, by what the last ones took."""
        return self._waiting.qsize() * self._mean_s / self._count

    def _serve(self) -> None:
        """One process, looked after by one thread."""
        process: subprocess.Popen[bytes] | None = None
        while True:
            done, asked, limit_s = self._waiting.get()
            if not done.set_running_or_notify_cancel():
                continue
            if process is None or process.poll() is not None:
                process = _begin()
            began = time.monotonic()
            stop = threading.Timer(limit_s, process.kill)
            stop.start()
            try:
                _send(process.stdin, asked)
                failed, result = pickle.loads(_receive(process.stdout))
            except (EOFError, OSError):
                late = time.monotonic() - began >= limit_s
                why = f"This takes longer than {limit_s:.0f} s here. Set a shorter time or fewer pulses." if late else (
                    "That could not be worked out.")
                process.kill()
                process.wait()
                process = None
                done.set_exception(TooLong(why))
                continue
            finally:
                stop.cancel()
                self._mean_s += 0.3 * (time.monotonic() - began - self._mean_s)
            if failed:
                done.set_exception(result)
            else:
                done.set_result(result)


def _begin() -> subprocess.Popen[bytes]:
    environment = {**os.environ, "PYTHONPATH": os.pathsep.join(filter(None, sys.path)), "OPENBLAS_NUM_THREADS": "1"}
    process = subprocess.Popen(
        [sys.executable, "-m", "graspwave.apps.computing"], stdin=subprocess.PIPE, stdout=subprocess.PIPE, env=environment)
    atexit.register(process.kill)
    stop = threading.Timer(_START_S, process.kill)
    stop.start()
    try:
        _receive(process.stdout)  # it says that it is there, so that its start counts against no limit
    except EOFError:
        process.kill()
    finally:
        stop.cancel()
    return process


def _send(pipe: Any, data: bytes) -> None:
    pipe.write(_HEAD.pack(len(data)) + data)
    pipe.flush()


def _receive(pipe: Any) -> bytes:
    size = _HEAD.unpack(_exactly(pipe, _HEAD.size))[0]
    return _exactly(pipe, size)


def _exactly(pipe: Any, size: int) -> bytes:
    data: bytes = pipe.read(size)
    if len(data) < size:
        raise EOFError
    return data


_LOCK = threading.Lock()
_shared: list[Computing] = []


def computing() -> Computing:
    """The one of this process; its processes are begun when there is something to do, one core left for the server."""
    with _LOCK:
        if not _shared:
            _shared.append(Computing(max(1, (os.cpu_count() or 2) - 1)))
        return _shared[0]


def _main() -> None:
    """A process of it: pieces of work on standard input, results on standard output, until the server is gone."""
    out, sys.stdout = sys.stdout.buffer, sys.stderr  # nothing that prints may come between
    if hasattr(os, "nice"):
        os.nice(5)
    _send(out, b"")
    while True:
        try:
            asked = _receive(sys.stdin.buffer)
        except EOFError:
            return
        try:
            work, given = pickle.loads(asked)
            answer = pickle.dumps((False, work(*given)))
        except Exception as error:
            answer = _failed(error)
        _send(out, answer)


def _failed(error: Exception) -> bytes:
    try:
        answer = pickle.dumps((True, error))
        pickle.loads(answer)  # one with arguments of its own may not come back
    except Exception:
        return pickle.dumps((True, ValueError(str(error))))
    return answer


if __name__ == "__main__":
    _main()
