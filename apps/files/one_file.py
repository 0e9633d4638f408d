"""A page of ours as one file that asks nobody for anything: styles, scripts, font and mark put inside.

Modules find each other by relative names on the server. In the file each stands as it is, in an element of its own, after those
that it imports; a few lines (``inside.js``) give each an address and lead the names there.
"""

from __future__ import annotations

import base64
import hashlib
import json
import re
from collections.abc import Mapping
from typing import Any

from markupsafe import Markup

from graspwave.apps.web.source import IMPORT, address, imports_of, web_file, web_text

__all__ = ["as_data", "as_url", "modules_inside", "one_file"]

_LOADER = "files/inside.js"
_OTHER = re.compile(r"^\s*import\b(?!\.).*|\bimport\(.*", re.MULTILINE)
"""Any other import: nothing would lead it to its module."""
_LINK = re.compile(r'<link rel="(?P<rel>[a-z]+)"[^>]*?href="(?P<href>[^"]+)"[^>]*>\n?')
_SCRIPT = re.compile(r'<script(?P<module> type="module")? src="(?P<src>[^"]+)"></script>\n?')
_URL = re.compile(r"""url\((["'])(?P<name>[^"':]+)\1\)""")
_KINDS = {".woff2": "font/woff2", ".svg": "image/svg+xml"}


def modules_inside(entry: str, given: Mapping[str, str] | None = None) -> tuple[Markup, str]:
    """A module with all that it imports, to stand inside a page.

    Parameters
    ----------
    entry : str
        Path of the module, as ``web/alone.js``.
    given : mapping of str to str, optional
        Modules that stand in the place of the served ones, by the path that is imported.

    Returns
    -------
    elements : Markup
        Modules in their order.
    loader : str
        The script that starts them, to stand after them as a module of its own.

    Raises
    ------
    ValueError
        There is no such module, modules import each other in a ring, or one holds the end of a script or another form of import.
    """
    found: dict[str, str] = {}
    under_way: list[str] = []

    def add(path: str) -> None:
        if path in found:
            return
        if path in under_way:
            raise ValueError(f"'{path}' must not import itself (got {' -> '.join([*under_way, path])})")
        under_way.append(path)
        text = (given or {}).get(path) or _served(path)
        for other in imports_of(path, text):
            add(other)
        if left := _OTHER.search(IMPORT.sub("", text)):
            raise ValueError(f"'{path}' must import by name at the start of a line (got {left[0].strip()[:60]!r})")
        found[path] = _inside(path, text)
        under_way.pop()

    add(entry)
    elements = "".join(f'<script type="text/plain" data-module="{path}">{text}</script>\n' for path, text in found.items())
    return Markup(elements), _inside(_LOADER, web_text(_LOADER))


def _served(path: str) -> str:
    if web_file(path) is None:
        raise ValueError(f"'{path}' must be a file that the pages have (got none of that name)")
    return web_text(path)


def _inside(path: str, text: str) -> str:
    if re.search(r"</script|<!--", text, re.IGNORECASE):
        raise ValueError(f"'{path}' must hold no end of a script (got one)")
    return text


def as_data(value: Any) -> str:
    """A value as JSON that can stand inside a script element: no tag can begin in it."""
    text = json.dumps(value, ensure_ascii=False, separators=(",", ":"), allow_nan=False)
    return text.replace("<", "\\u003c").replace("\u2028", "\\u2028").replace("\u2029", "\\u2029")


def one_file(html: str, given: Mapping[str, str] | None = None, data: Mapping[str, Any] | None = None) -> str:
    """A page that the server would give, as one file.

    Parameters
    ----------
    html : str
        As `look.plain.plain_page` makes it, without links to other pages.
    given : mapping of str to str, optional
        As in `modules_inside`.
    data : mapping of str to value, optional
        What scripts read, by the id of the element that holds it.

    Returns
    -------
    str
        With a content policy that forbids every request.
    """
    scripts: list[str] = []
    inside = ""

    def script(found: re.Match[str]) -> str:
        nonlocal inside
        path = _path(found["src"])
        if not found["module"]:
            scripts.append(_inside(path, _served(path)))
            return f"<script>{scripts[-1]}</script>\n"
        elements, loader = modules_inside(path, given)
        scripts.append(loader)
        inside += f'{elements}<script type="module">{loader}</script>\n'
        return ""

    html = _LINK.sub(_linked, html)
    held = "".join(
        f'<script type="application/json" id="{name}">{as_data(value)}</script>\n' for name, value in (data or {}).items())
    head, rest = html.split("</head>", 1)
    head = _SCRIPT.sub(script, head)
    inline = re.findall(r"<script>(.*?)</script>", head, re.DOTALL)
    digests = {base64.b64encode(hashlib.sha256(text.encode()).digest()).decode() for text in (*scripts, *inline)}
    own = " ".join(sorted(f"'sha256-{digest}'" for digest in digests))
    # modules get their addresses in the page itself
    policy = (f"default-src 'none'; script-src {own} blob:; style-src 'unsafe-inline'; img-src data:; font-src data:; "
              "base-uri 'none'")
    meta = f'<meta charset="utf-8">\n<meta http-equiv="Content-Security-Policy" content="{policy}">'
    return head.replace('<meta charset="utf-8">', meta, 1) + held + inside + "</head>" + rest


def _path(where: str) -> str:
    """Path of a file from its address in a page."""
    return where.removeprefix(address("", "/") if where.startswith("/") else address("", ""))


def _linked(found: re.Match[str]) -> str:
    """A linked file inside the page; what is only fetched early is left out, it is inside already."""
    rel, path = found["rel"], _path(found["href"])
    if rel == "preload":
        return ""
    if rel == "icon":
        return f'<link rel="icon" href="{as_url(path)}">\n'
    if rel != "stylesheet":
        return ""
    near = path.rsplit("/", 1)[0]
    text = _URL.sub(lambda url: f"url({as_url(near + '/' + url['name'])})", _served(path))
    return f"<style>{text}</style>\n"


def as_url(path: str) -> str:
    """A served file as an address that holds it."""
    data = web_file(path)
    if data is None:
        raise ValueError(f"'{path}' must be a file that the pages have (got none of that name)")
    kind = next(kind for ending, kind in _KINDS.items() if path.endswith(ending))
    return f"data:{kind};base64,{base64.b64encode(data).decode()}"
