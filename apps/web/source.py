"""What browsers are given: every module, style sheet, font and mark of ``apps``, under one stamped address. Stage ``apps``.

``/web/<stamp>/`` stands for the folder ``apps``, so that modules find each other by relative names; one changed file gives all of
them a new address, and browsers may keep what they have. No Panel here: pages without components are served from it too.
"""

from __future__ import annotations

import gzip
import hashlib
import posixpath
import re
from functools import cache
from pathlib import Path, PurePosixPath

from graspwave.apps.web.given import given_source

__all__ = [
    "GIVEN", "IMPORT", "KINDS", "address", "component", "early_modules", "imports_of", "packed", "sheet", "stamp", "web_file",
    "web_files", "web_packed", "web_text",
]

KINDS = {".js": "text/javascript", ".css": "text/css", ".png": "image/png", ".svg": "image/svg+xml", ".woff2": "font/woff2"}
"""Endings that are served, with their content types; nothing else leaves the folder."""

GIVEN = "web/given.js"
"""The one module that is made: what JavaScript knows from Python."""

_ONLY_ON = {"controls/hold.js": ("practise",), "controls/thread.js": ("explore",)}
"""Controls that one page has: the others do not ask for their modules."""

_APPS = Path(__file__).parents[1]


@cache
def web_files() -> dict[str, bytes]:
    """Bytes of all that is served, by the path inside ``apps``."""
    found = {file.relative_to(_APPS).as_posix(): file.read_bytes()
             for file in sorted(_APPS.rglob("*.*")) if file.suffix in KINDS and file.is_file()}
    return {**found, GIVEN: given_source().encode()}


def web_file(path: str) -> bytes | None:
    """Bytes of one file by its path inside ``apps``; None where nothing is served under it."""
    return web_files().get(path)


@cache
def web_packed(path: str) -> bytes | None:
    """The same packed by gzip, once, as small as it gets; None where that saves nothing."""
    small = packed(web_files()[path])
    return small if len(small) < len(web_files()[path]) else None


def packed(data: bytes) -> bytes:
    """By gzip, as small as it gets, and always the same."""
    return gzip.compress(data, 9, mtime=0)


def web_text(path: str) -> str:
    """One served file as text; KeyError where there is none."""
    return web_files()[path].decode()


@cache
def stamp() -> str:
    """Ten digits of a digest of all that is served."""
    digest = hashlib.sha256()
    for path, data in sorted(web_files().items()):
        digest.update(path.encode() + b"\0" + data)
    return digest.hexdigest()[:10]


def address(path: str, up: str = "/") -> str:
    """Address of one file, or of all of them where `path` is empty; KeyError where there is none.

    Parameters
    ----------
    path : str
        Inside ``apps``, for example ``web/draw.js``.
    up : str
        What leads from the page's address to the top: ``"/"``, or ``""`` for a page at the top.
    """
    if path:
        web_files()[path]
    return f"{up}web/{stamp()}/{path}"


def component(path: str) -> str:
    """Text of a Panel component whose ``render`` stands in a served module.

    Panel makes a module of its own from a component's text, and its address is no place from which a relative name leads
    anywhere. So the text is one line that asks the page's own address for the real module, which every page shares.
    """
    return f'export const {{ render }} = await import(new URL("{address(path, "")}", document.baseURI).href)\n'


def sheet(path: str) -> str:
    """Text of a style sheet for a Panel component: a style sheet of the page does not reach into its shadow tree."""
    return web_text(path)


def early_modules(page: str) -> list[str]:
    """Modules that a page with components asks for, each once; asked for early they are there when the framework is."""
    found: dict[str, None] = {}
    left = {module for module, pages in _ONLY_ON.items() if page not in pages}
    wanted = ["web/hand/component.js", *(path for path in web_files()
                                         if path.startswith("controls/") and path.endswith(".js") and path not in left)]
    while wanted:
        path = wanted.pop()
        if path not in found:
            found[path] = None
            wanted += imports_of(path, web_text(path))
    return sorted(found)


IMPORT = re.compile(r"^(?:import|export)\b[^;'\"]*?\bfrom '(\.[^']+)'|^import '(\.[^']+)'", re.MULTILINE)


def imports_of(path: str, text: str) -> list[str]:
    """Paths of the modules that a module's text imports, in its order, from where the module stands."""
    near = PurePosixPath(path).parent
    return [posixpath.normpath(str(near / (one or other))) for one, other in IMPORT.findall(text)]
