"""Fixtures shared by all tests."""

from __future__ import annotations

import os
from collections.abc import Iterator
from typing import Any

import pytest
from playwright.sync_api import BrowserContext, expect
from serving import CHROMIUM, served

os.environ.setdefault("GRASPWAVE_LESSONS", "when asked for")  # each server of a test would work all lessons out
os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")  # two threads of small matrices wait for each other

expect.set_options(timeout=20_000)  # a busy machine is slow, not wrong

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
    found = {"executable_path": CHROMIUM} if CHROMIUM else {}
    return {**browser_type_launch_args, **found, "args": list(_BROWSER_FLAGS)}


@pytest.fixture
def context(context: BrowserContext) -> BrowserContext:
    """Of each test; it waits as long as a busy machine needs."""
    context.set_default_timeout(60_000)
    return context


@pytest.fixture(scope="session")
def base_url() -> None:
    """No address is given from outside; this stands for the plugin's fixture, which newer pytest warns about."""


@pytest.fixture(scope="session")
def address() -> Iterator[str]:
    """Address of the Explore page, served by the command itself in a process of its own."""
    with served() as where:
        yield where


def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    """Without a browser its tests are skipped, and say what to install."""
    if CHROMIUM:
        return
    for item in items:
        if "page" in getattr(item, "fixturenames", ()):
            item.add_marker(pytest.mark.skip(reason="no chromium on this machine: install the package 'chromium-headless-shell'"))
