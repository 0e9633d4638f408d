"""A page of ours as one file that asks nobody for anything: styles, scripts, font and mark put inside.

Modules find each other by relative names on the server; here they stand one after another in one script, each in a function of
its own, in an order in which what is asked for is there. They are written plainly enough for that: imports by name at the top,
exports at the start of a line; whatever else a module tried is refused.
"""

from __future__ import annotations

import base64
import hashlib
import json
import re
from collections.abc import Callable, Mapping
from pathlib import Path
from typing import Any

from graspwave.apps.look.parts import STATIC
from graspwave.apps.web.source import static_file

__all__ = ["as_data", "joined_modules", "one_file"]

_IMPORT = re.compile(r"^import \{([^}]*)\} from '\./([a-z0-9_.-]+)'\n?", re.MULTILINE)
_EXPORT = re.compile(r"^export (?=(?:async )?function |const |class )", re.MULTILINE)
_NAMED = re.compile(r"(?:async )?(?:function\*?|const|class) ([A-Za-z_$][\w$]*)")
_LISTED = re.compile(r"^export \{([^}]*)\}\n?", re.MULTILINE)
_LINK = re.compile(r'<link rel="(?P<rel>[a-z]+)"[^>]*?href="(?P<href>[^"]+)"[^>]*>\n?')
_SCRIPT = re.compile(r'<script(?P<module> type="module")? src="(?P<src>[^"]+)"></script>\n?')
_URL = re.compile(r'url\("(?P<name>[^":]+)"\)')
_KINDS = {".woff2": "font/woff2", ".svg": "image/svg+xml"}


def joined_modules(entry: str, given: Mapping[str, str] | None = None, read: Callable[[str], str] | None = None) -> str:
    """A module with all that it imports as one script text.

    Parameters
    ----------
    entry : str
        Name of the module, as ``alone.js``.
    given : mapping of str to str, optional
        Modules that stand in the place of the served ones, by the name that is imported.
    read : callable, optional
        Text of a module by its name; what the server gives where not given.

    Returns
    -------
    str
        To be run as a module of its own, without imports.

    Raises
    ------
    ValueError
        There is no such module, modules import each other in a ring, or one is written in another way.
    """
    texts: dict[str, str] = {}
    under_way: list[str] = []

    def add(name: str) -> None:
        if name in texts:
            return
        if name in under_way:
            raise ValueError(f"'{name}' must not import itself (got {' -> '.join([*under_way, name])})")
        under_way.append(name)
        text = (given or {}).get(name) or (read or _served)(name)
        for found in _IMPORT.finditer(text):
            add(found[2])
        texts[name] = _wrapped(name, text)
        under_way.pop()

    add(entry)
    return "'use strict'\nconst parts = {}\n" + "\n".join(texts.values())


def _served(name: str) -> str:
    data = static_file(name)
    if data is None:
        raise ValueError(f"'{name}' must be a module that the pages have (got none of that name)")
    return data.decode()


def _wrapped(name: str, text: str) -> str:
    """One module as a function that returns what it exports."""
    names = [f"{_NAMED.match(text, found.end())[1]}" for found in _EXPORT.finditer(text) if _NAMED.match(text, found.end())]  # type: ignore[index]
    for found in _LISTED.finditer(text):
        for one in filter(None, (part.strip() for part in found[1].split(","))):
            own, _, out = one.partition(" as ")
            names.append(f"{out or own}: {own}" if out else own)
    body = _IMPORT.sub(lambda found: f"const {{ {found[1].strip().replace(' as ', ': ')} }} = parts['{found[2]}']\n", text)
    body = _LISTED.sub("", _EXPORT.sub("", body))
    if left := re.search(r"^\s*(?:import|export)\b(?!\.).*|\bimport\(.*", body, re.MULTILINE):
        raise ValueError(f"'{name}' must import and export by name at the start of a line (got {left[0].strip()[:60]!r})")
    return f"parts['{name}'] = (() => {{\n{body}\nreturn {{ {', '.join(names)} }}\n}})()"


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
        As in `joined_modules`.
    data : mapping of str to value, optional
        What scripts read, by the id of the element that holds it.

    Returns
    -------
    str
        With a content policy that forbids every request.
    """
    scripts: list[str] = []

    def script(found: re.Match[str]) -> str:
        name = _plain_name(found["src"])
        text = joined_modules(name, given) if found["module"] else (STATIC / name).read_text("utf-8")
        if re.search(r"</script|<!--", text, re.IGNORECASE):
            raise ValueError(f"'{name}' must hold no end of a script (got one)")
        scripts.append(text)
        return f"<script{found['module'] or ''}>{text}</script>\n"

    html = _LINK.sub(_linked, html)
    held = "".join(
        f'<script type="application/json" id="{name}">{as_data(value)}</script>\n' for name, value in (data or {}).items())
    head, rest = html.split("</head>", 1)
    head = _SCRIPT.sub(script, head)
    inline = re.findall(r"<script>(.*?)</script>", head, re.DOTALL)
    digests = {base64.b64encode(hashlib.sha256(text.encode()).digest()).decode() for text in (*scripts, *inline)}
    own = " ".join(sorted(f"'sha256-{digest}'" for digest in digests))
    policy = f"default-src 'none'; script-src {own}; style-src 'unsafe-inline'; img-src data:; font-src data:; base-uri 'none'"
    meta = f'<meta charset="utf-8">\n<meta http-equiv="Content-Security-Policy" content="{policy}">'
    return head.replace('<meta charset="utf-8">', meta, 1) + held + "</head>" + rest


def _plain_name(address: str) -> str:
    return address.split("?")[0].rsplit("/", 1)[-1]


def _linked(found: re.Match[str]) -> str:
    """A linked file inside the page; what is only fetched early is left out, it is inside already."""
    rel, address = found["rel"], found["href"]
    if rel == "preload":
        return ""
    if rel == "icon":
        return f'<link rel="icon" href="{_as_url(STATIC / _plain_name(address))}">\n'
    if rel != "stylesheet":
        return ""
    name = _plain_name(address)
    text = static_file(name).decode() if "/teach-static/" in address else (STATIC / name).read_text("utf-8")  # type: ignore[union-attr]
    text = _URL.sub(lambda url: f"url({_as_url(STATIC / url['name'])})", text)
    return f"<style>{text}</style>\n"


def _as_url(file: Path) -> str:
    return f"data:{_KINDS[file.suffix]};base64,{base64.b64encode(file.read_bytes()).decode()}"
