"""What a module is made of: the files of our own that it imports, and those that they import, with the data beside them."""

from __future__ import annotations

import importlib
import re
from pathlib import Path

__all__ = ["files_behind"]

_DATA = ("*.toml", "*.npz", "*.md", "*.json")
_IMPORT = re.compile(r"(?m)^[ \t]*(?:from[ \t]+([.\w]+)[ \t]+import[ \t]+(\([^)]*\)|[^\n#]+)|import[ \t]+([^\n#]+))")


def files_behind(module: str) -> frozenset[Path]:
    """Source files that a module's results can depend on, found by walking its imports, and data in their folders.

    Parameters
    ----------
    module : str
        Full name, for example ``graspwave.apps.teach.compiled``.

    Returns
    -------
    frozenset of Path
        Imports inside functions and of the packages above a module are followed too; those of other projects are not.

    Notes
    -----
    Imports are found by their words at the start of a line: to parse every file would take a second at each start.
    A line of a text that looks like one only adds a file.
    """
    seen: set[str] = set()
    files: set[Path] = set()
    waiting = [module]
    while waiting:
        name = waiting.pop()
        file = None if name in seen else _file(name)
        seen.add(name)
        if file is None:
            continue  # known, another project's, or a name in a module
        files.add(file)
        parts = name.split(".")
        waiting += [*_imports(file, parts), *(".".join(parts[:i]) for i in range(2, len(parts)))]
    folders = {file.parent for file in files}
    return frozenset(files | {data for folder in folders for kind in _DATA for data in folder.glob(kind)})


def _file(name: str) -> Path | None:
    """File of a module of our own; None for any other name."""
    top, _, rest = name.removeprefix("graspwave.").partition(".")
    if not name.startswith("graspwave.") or top not in ("apps", "lessons", "simulator"):
        return None
    path = Path(str(importlib.import_module(f"graspwave.{top}").__file__)).parent.joinpath(*rest.split(".") if rest else ())
    return next((file for file in (path.with_suffix(".py"), path / "__init__.py") if file.is_file()), None)


def _imports(file: Path, parts: list[str]) -> list[str]:
    """Names that a source file imports, and every name after `import` as if it were a module."""
    inside = parts if file.name == "__init__.py" else parts[:-1]
    found: list[str] = []
    for base, names, plain in _IMPORT.findall(file.read_text("utf-8")):
        listed = [words.split()[0] for words in re.sub(r"[()]|#[^\n]*", " ", names or plain).split(",") if words.strip()]
        if plain:
            found += listed
            continue
        dots = len(base) - len(base.lstrip("."))
        head = ".".join([*(inside[: len(inside) - dots + 1] if dots else []), *([base[dots:]] if base[dots:] else [])])
        found += [head, *(f"{head}.{name}" for name in listed)]
    return found
