"""A server in a process of its own, for tests, pictures and benchmarks: it listens on this machine only and is stopped."""

from __future__ import annotations

import re
import shutil
import subprocess
import sys
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from pathlib import Path

__all__ = ["CHROMIUM", "COMMAND", "served"]

CHROMIUM = next(filter(None, map(shutil.which, ("chromium-headless-shell", "chromium", "chromium-browser"))), None)
"""The browser that tests drive. The shell has no windows of its own to draw: pages cost a third less, contexts a quarter."""

COMMAND = ("-m", "graspwave.apps.begin", "open", "--port", "0", "--no-browser")
"""Arguments for Python that serve the pages as the command does."""


@contextmanager
def served(arguments: Sequence[str] = COMMAND) -> Iterator[str]:
    """The address on the first line that has one, Explore's where that is the start; the server ends with the block."""
    root = Path(__file__).parents[1]
    command = [sys.executable, *arguments]
    with subprocess.Popen(command, stdout=subprocess.PIPE, stderr=subprocess.DEVNULL, text=True, cwd=root) as server:
        try:
            assert server.stdout
            said = next((found for line in server.stdout if (found := re.search(r"(http://127[^\s/]+)(/\w*)", line))), None)
            assert said, "the server ended before it said where it serves"
            yield said.group() if len(said[2]) > 1 else f"{said[1]}/explore"
        finally:
            server.terminate()
