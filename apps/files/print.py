"""HTML to PDF by the browser that is already on the machine; nothing is installed or fetched for it."""

from __future__ import annotations

import os
import shutil
import subprocess
import tempfile
from pathlib import Path

from graspwave import simulator as sim

__all__ = ["find_browser", "write_pdf"]

_NAMES = ("chromium-headless-shell", "chromium", "chromium-browser", "google-chrome", "google-chrome-stable", "chrome", "msedge",
          "microsoft-edge")
_PLACES = (
    "/Applications/Chromium.app/Contents/MacOS/Chromium", "/Applications/Google Chrome.app/Contents/MacOS/Google Chrome",
    "/Applications/Microsoft Edge.app/Contents/MacOS/Microsoft Edge",
    "C:/Program Files/Google/Chrome/Application/chrome.exe", "C:/Program Files (x86)/Microsoft/Edge/Application/msedge.exe",
    "C:/Program Files/Microsoft/Edge/Application/msedge.exe",
)
_FLAGS = (
    "--headless", "--disable-gpu", "--no-first-run", "--no-default-browser-check", "--disable-background-networking",
    "--disable-component-update", "--disable-sync", "--disable-extensions", "--no-pdf-header-footer",
    "--virtual-time-budget=3000",  # the font is unpacked and the words fitted to the page after loading
)
_WAIT_S = 60.0


def find_browser() -> str | None:
    """A browser that can print from the command line, or None."""
    named = next((path for name in _NAMES if (path := shutil.which(name))), None)
    return named or next((path for path in _PLACES if Path(path).is_file()), None)


def write_pdf(html: str, out: Path, browser: str | None = None) -> None:
    """Print HTML into a PDF file.

    Parameters
    ----------
    html : str
        A page that needs nothing from outside, with its own ``@page``.
    out : Path
    browser : str, optional
        Path of the browser; the first that is found where not given.

    Raises
    ------
    SceneError
        There is no such browser, or it wrote nothing.
    """
    browser = browser or find_browser()
    if browser is None:
        raise sim.SceneError(
            "out", "an .html file where no Chromium, Chrome or Edge is found", str(out), "print that from any browser")
    # a browser run as root refuses to start with its sandbox; the page is our own and loads nothing
    root = ("--no-sandbox",) if hasattr(os, "geteuid") and os.geteuid() == 0 else ()
    with tempfile.TemporaryDirectory(ignore_cleanup_errors=True) as folder:
        page, made = Path(folder) / "sheet.html", Path(folder) / "sheet.pdf"
        page.write_text(html, "utf-8")
        command = [browser, *_FLAGS, *root, f"--user-data-dir={folder}/profile", f"--print-to-pdf={made}", page.as_uri()]
        try:
            subprocess.run(command, check=False, timeout=_WAIT_S, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL)
        except subprocess.TimeoutExpired:
            raise sim.SceneError("out", "printed within a minute", str(out), f"give an .html file, or mend {browser}") from None
        if not made.is_file():
            raise sim.SceneError("out", "written by the browser", str(out), f"give an .html file, or mend {browser}")
        out.parent.mkdir(parents=True, exist_ok=True)
        shutil.copyfile(made, out)
