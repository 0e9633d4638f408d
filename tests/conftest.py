"""Fixtures shared by all tests."""

from __future__ import annotations

import os
import re
import shutil
import subprocess
import sys
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest

os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")  # two threads of small matrices wait for each other

_BROWSER_FLAGS = (
    "--no-sandbox",
    "--disable-gpu",
    "--disable-quic",
    "--no-first-run",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
)


@pytest.fixture(scope="session")
def browser_type_launch_args(browser_type_launch_args: dict[str, Any]) -> dict[str, Any]:
    """Use the system's chromium where there is one, and keep it from asking for anything outside."""
    path = shutil.which("chromium") or shutil.which("chromium-browser")
    found = {"executable_path": path} if path else {}
    return {**browser_type_launch_args, **found, "args": list(_BROWSER_FLAGS)}


@pytest.fixture(scope="session")
def base_url() -> None:
    """No address is given from outside; this stands for the plugin's fixture, which newer pytest warns about."""


@pytest.fixture(scope="session")
def address() -> Iterator[str]:
    """Address of the Explore page, served by the command itself in a process of its own."""
    command = [sys.executable, "-m", "apps.command", "open", "--port", "0", "--no-browser"]
    root = Path(__file__).parents[1]
    with subprocess.Popen(command, stdout=subprocess.PIPE, stderr=subprocess.DEVNULL, text=True, cwd=root) as server:
        try:
            assert server.stdout
            said = re.search(r"http://\S+", server.stdout.readline())
            assert said, "the command ended before it said where it serves"
            yield said.group()
        finally:
            server.terminate()


def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    """Without a browser its tests are skipped, and say what to install."""
    if shutil.which("chromium") or shutil.which("chromium-browser"):
        return
    for item in items:
        if "page" in getattr(item, "fixturenames", ()):
            item.add_marker(pytest.mark.skip(reason="no chromium on this machine: install the package 'chromium'"))
