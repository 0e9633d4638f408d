"""What is asked for when Explain is put on a home screen: the manifest, the worker, and the page shown while the server is away.

Browsers let a worker stay only for addresses that nobody on the way can change: this machine's own, or https. On plain http of
another machine in the network the pages work as ever, and a home screen keeps a mere link; ``/app`` says which of the two it is.
W3C Web Application Manifest; W3C Service Workers.
"""

from __future__ import annotations

import asyncio
import json
import re
from functools import cache
from pathlib import Path
from typing import Any

import tornado.web

from graspwave.apps.files.one_file import one_file
from graspwave.apps.look.plain import plain_page, sheets
from graspwave.apps.plain_route import Plain
from graspwave.apps.web.source import address, stamp
from graspwave.apps.web.tokens import TOKENS

__all__ = ["app_routes", "away_page", "keep_page", "manifest", "worker"]

_WORKER = Path(__file__).with_name("worker.js")
_POLICY = re.compile(r'http-equiv="Content-Security-Policy" content="([^"]+)"')


def manifest() -> dict[str, Any]:
    """The web manifest: Explain, in a window of its own."""
    paper = TOKENS["bg"][0]
    icons = [{"src": address(f"look/static/icon-{size}.png"), "sizes": f"{size}x{size}", "type": "image/png", "purpose": purpose}
             for size in (192, 512) for purpose in ("any", "maskable")]
    return {
        "id": "/explain", "name": "Graspwave: Explain", "short_name": "Graspwave", "lang": "en",
        "start_url": "/explain", "scope": "/",
        "description": "Five pictures of what electrical stimulation does. A teaching model, not for setting treatment.",
        "display": "standalone", "background_color": paper, "theme_color": paper, "icons": icons,
    }


@cache
def away_page() -> str:
    """What is shown instead of any page while the server does not answer; it needs nothing else."""
    body = """
<div class="column narrow"><h2 class="big">Graspwave does not answer</h2>
  <p class="lead">These pages come from a machine nearby. It is off, or this tablet is in another network.</p>
  <ul><li>Switch that machine on, and start Graspwave there.</li><li>Join the network that it is in.</li></ul>
  <p>Nothing was lost: a page that was kept opens again with its scene.</p>
  <p><a class="btn strong" href="">Try again</a></p></div>"""
    return one_file(plain_page("missing", "Server away", body, css=sheets(), bare=True))


def keep_page() -> str:
    """How Explain is put on a home screen, and whether this address allows all of it."""
    body = """
<div class="column narrow"><h2 class="big">Explain on a tablet's home screen</h2>
  <p class="lead">Then it opens with one tap, as long as the machine that serves it is near.</p>
  <ol><li>Open <a href="/explain">Explain</a> on the tablet.</li>
    <li>Open the browser's menu, or its share button.</li>
    <li>Choose "Add to home screen" or "Install".</li></ol>
  <p id="can" role="status"></p>
  <p>Kept with all that belongs to it, it needs an address of this machine itself, or one that begins with https. Whoever runs the
    server gives it one by putting a web server with a certificate before it.</p></div>"""
    return plain_page("explain", "Home screen", body, scripts=[address("web/installable.js")], css=sheets())


@cache
def worker() -> str:
    """The script of the worker; another one whenever the page that it keeps is another."""
    return _WORKER.read_text("utf-8").replace("STAMP", stamp())


class _Manifest(tornado.web.RequestHandler):
    def get(self) -> None:
        self.set_header("Content-Type", "application/manifest+json; charset=utf-8")
        self.finish(json.dumps(manifest()))

    head = get


class _Worker(tornado.web.RequestHandler):
    def get(self) -> None:
        self.set_header("Content-Type", "text/javascript; charset=utf-8")
        self.set_header("Cache-Control", "no-cache")
        self.finish(worker())

    head = get


class _Away(Plain):
    async def get(self) -> None:
        html = await asyncio.get_running_loop().run_in_executor(None, away_page)  # the first time it is put together
        policy = _POLICY.search(html)
        assert policy
        self.set_header("Content-Type", "text/html; charset=utf-8")
        self.set_header("Content-Security-Policy", f"{policy[1]}; frame-ancestors 'none'")
        self.finish(html)

    head = get


class _Keep(Plain):
    def get(self) -> None:
        self.page(keep_page())

    head = get


def app_routes() -> list[tuple[Any, ...]]:
    """For a Tornado application."""
    return [(r"/app\.webmanifest", _Manifest), (r"/app-worker\.js", _Worker), (r"/app-away", _Away), (r"/app/?", _Keep)]
