"""People of a room in a real browser: what their pages show and were told, and a cable to the server that can be cut."""

from __future__ import annotations

import asyncio
import threading
from collections.abc import Coroutine, Iterator, Mapping, Sequence
from contextlib import contextmanager
from typing import Any, TypeVar
from urllib.parse import urlsplit

from playwright.sync_api import Browser, BrowserContext, Page, expect

__all__ = ["DESK", "PHONE", "WALL", "Cable", "People", "Person", "cable"]

PHONE = {"width": 390, "height": 844}
DESK = {"width": 1440, "height": 900}
WALL = {"width": 1280, "height": 720}

_WITHIN_MS = 20_000
_Result = TypeVar("_Result")

_SHOWN = """() => {
  // a word of the trade stands beside the plain one only as people like it: what was written is read
  const whole = document.documentElement.cloneNode(true)
  for (const word of whole.querySelectorAll('.tw[data-said]')) word.textContent = word.dataset.said
  const parts = [document.title, whole.textContent]
  for (const node of document.querySelectorAll('*')) for (const a of node.attributes) parts.push(a.value)
  for (const node of document.querySelectorAll('input, textarea')) parts.push(node.value)
  return parts.join('\\n')
}"""

_AT = """([number, phase, title]) => {
  const step = [...document.querySelectorAll('.step[data-phase]')].find(node => !node.classList.contains('bench-host'))
  const where = (document.querySelector('#where')?.textContent || step?.querySelector('.over')?.textContent || '')
  const head = (document.querySelector('.wall-top h2') ?? step?.querySelector('h2'))?.textContent
  return step?.dataset.phase === phase && where.includes(`Step ${number} of`) && head === title
}"""


class Person:
    """One page, all that its line to the room brought, and whatever went wrong in it."""

    def __init__(self, page: Page) -> None:
        self.page = page
        self.frames: list[str] = []
        self.asked: list[tuple[str, str]] = []
        """Every address that it asked for, and by which page it said that it was sent."""
        self.faults: list[str] = []
        self.cut = False
        """While its cable is cut the browser itself complains, rightly."""
        page.set_default_timeout(_WITHIN_MS)
        page.on("pageerror", lambda error: self.faults.append(str(error)))
        page.on("console", lambda said: self._fault(said.text) if said.type in ("error", "warning") else None)
        page.on("request", lambda asked: self._asks(asked.url, asked.headers.get("referer", "")))
        page.on("websocket", self._line)

    def _fault(self, text: str) -> None:
        if not (self.cut and ("WebSocket" in text or "ERR_" in text)):
            self.faults.append(text)

    def _asks(self, url: str, sent_by: str) -> None:
        self.asked.append((url, sent_by))
        self._where(url)

    def _where(self, url: str) -> None:
        parts = urlsplit(url)
        if parts.scheme not in ("data", "blob", "file") and parts.hostname != "127.0.0.1":
            self.faults.append(f"asked for {url}")

    def _line(self, line: Any) -> None:
        self._where(line.url)
        line.on("framereceived", lambda text: self.frames.append(str(text)))

    def shown(self) -> str:
        """All words of the page, seen or not, with those of its attributes and fields, in one line."""
        return " ".join(str(self.page.evaluate(_SHOWN)).split())

    def stands_at(self, number: int, phase: str, title: str) -> None:
        """Wait until the page shows this part of this step."""
        self.page.wait_for_function(_AT, arg=[number, phase, title])

    # a learner's own

    def join(self, http: str, code: str) -> str:
        """Join by the code, typed as people type it; the made-up name."""
        self.page.goto(f"{http}/join")
        self.page.get_by_label("Room code").fill(code.replace("-", " ").upper())
        self.page.get_by_role("button", name="Join").click()
        self.page.wait_for_url(f"**/room/{code}")
        expect(self.page.locator("#handle")).to_contain_text("you are ", timeout=_WITHIN_MS)
        return self.handle

    @property
    def handle(self) -> str:
        return self.page.locator("#handle").inner_text().removeprefix("you are ")

    def choose(self, question: Mapping[str, Any], keys: Sequence[str], sure: str = "") -> None:
        """Set the form, and send nothing yet."""
        form = self.page.locator("form.ask")
        if question["kind"] == "order":
            have = [row.get_attribute("data-key") for row in form.locator(".order li").all()]
            for place, key in enumerate(keys):
                for _ in range(have.index(key) - place):
                    form.get_by_role("button", name=f"Move up: {key}", exact=True).click()
                have.remove(key)
                have.insert(place, key)
        else:
            for choice in question["choices"]:
                card = form.locator("label.card", has=self.page.locator(f"input[value='{choice['key']}']"))
                if card.locator("input").is_checked() != (choice["key"] in keys) and (
                        question["kind"] == "several" or choice["key"] in keys):
                    card.click()
        if sure:
            form.locator(".seg label", has_text=sure).click()

    def send(self) -> None:
        """Send the form and wait until the server has said that it keeps it."""
        self.page.locator("button.send").click()
        self.kept()

    def kept(self) -> None:
        expect(self.page.get_by_text("Kept. You can change it until it is shown.")).to_be_visible(timeout=_WITHIN_MS)

    def chosen(self, question: Mapping[str, Any]) -> list[str]:
        """Keys as the form stands."""
        form = self.page.locator("form.ask")
        if question["kind"] == "order":
            return [str(row.get_attribute("data-key")) for row in form.locator(".order li").all()]
        return [str(box.get_attribute("value")) for box in form.locator(".card input").all() if box.is_checked()]


class People:
    """Makes people who share nothing with each other."""

    def __init__(self, browser: Browser) -> None:
        self._browser = browser
        self._contexts: list[BrowserContext] = []
        self.all: list[Person] = []

    def one(self, size: dict[str, int] = PHONE, **more: Any) -> Person:
        """Somebody with a browser of their own."""
        context = self._browser.new_context(viewport=size, reduced_motion="reduce", **more)  # type: ignore[arg-type]
        self._contexts.append(context)
        self.all.append(Person(context.new_page()))
        return self.all[-1]

    def faults(self) -> list[str]:
        return [fault for person in self.all for fault in person.faults]

    def end(self) -> None:
        for context in self._contexts:
            context.close()


class Cable:
    """Carries bytes between one port of this machine and another, until it is cut; nothing answers at it then."""

    def __init__(self, to_port: int) -> None:
        self._to, self.port = to_port, 0
        self._loop = asyncio.new_event_loop()
        self._thread = threading.Thread(target=self._loop.run_forever, daemon=True)
        self._thread.start()
        self._ends: set[asyncio.StreamWriter] = set()
        self._server: asyncio.Server | None = None
        self._passes = asyncio.Event()
        self._passes.set()
        self.mend()

    @property
    def http(self) -> str:
        return f"http://127.0.0.1:{self.port}"

    def cut(self) -> None:
        """Break every connection and refuse new ones."""
        self._do(self._cut())

    def mend(self) -> None:
        """Carry again, at the same port."""
        self._do(self._lay())

    def hold(self) -> None:
        """Carry nothing on, but break nothing: as a network that is gone without a word."""
        self._loop.call_soon_threadsafe(self._passes.clear)

    def release(self) -> None:
        """Carry on what was held."""
        self._loop.call_soon_threadsafe(self._passes.set)

    def end(self) -> None:
        self._do(self._cut())
        self._loop.call_soon_threadsafe(self._loop.stop)
        self._thread.join()
        self._loop.close()

    def _do(self, work: Coroutine[Any, Any, _Result]) -> _Result:
        return asyncio.run_coroutine_threadsafe(work, self._loop).result(timeout=10.0)

    async def _lay(self) -> None:
        self._server = await asyncio.start_server(self._carry, "127.0.0.1", self.port)
        self.port = self._server.sockets[0].getsockname()[1]

    async def _cut(self) -> None:
        if self._server:
            self._server.close()
        for end in list(self._ends):
            end.transport.abort()
        while self._ends:
            await asyncio.sleep(0)

    async def _carry(self, near: asyncio.StreamReader, near_out: asyncio.StreamWriter) -> None:
        self._ends.add(near_out)
        far_out = None
        try:
            far, far_out = await asyncio.open_connection("127.0.0.1", self._to)
            self._ends.add(far_out)
            ways = [asyncio.ensure_future(self._pump(near, far_out)), asyncio.ensure_future(self._pump(far, near_out))]
            await asyncio.wait(ways, return_when=asyncio.FIRST_COMPLETED)
            for way in ways:
                way.cancel()
        finally:
            for end in (near_out, far_out):
                if end:
                    end.transport.abort()
                    self._ends.discard(end)

    async def _pump(self, come: asyncio.StreamReader, out: asyncio.StreamWriter) -> None:
        try:
            while data := await come.read(65536):
                await self._passes.wait()
                out.write(data)
                await out.drain()
        except ConnectionError:
            pass  # an end that is gone is what this is for


@contextmanager
def cable(http: str) -> Iterator[Cable]:
    """A cable to a server."""
    laid = Cable(urlsplit(http).port or 80)
    try:
        yield laid
    finally:
        laid.end()
