"""Folders drawn from their imports: each on a floor above all that it imports.

``python -m tests.folders [checkout]``; ``--write`` for the contributors' guide.

Folders that import each other, through whatever others, stand in a ring, and a ring is named. The drawing of now
stands in DEVELOPERS.md, where `tests/test_structure.py` holds it against the code.
"""

from __future__ import annotations

import ast
import sys
from collections import defaultdict
from collections.abc import Iterator
from pathlib import Path

__all__ = ["drawing", "folders", "rings"]

PARTS = ("simulator", "lessons", "apps")


def imports_of(source: str, module: str) -> Iterator[str]:
    """Absolute names of what a text imports."""
    package = module.split(".")
    for node in ast.walk(ast.parse(source)):
        if isinstance(node, ast.Import):
            yield from (alias.name for alias in node.names)
        elif isinstance(node, ast.ImportFrom):
            base = package[: len(package) - node.level] if node.level else []
            name = ".".join([*base, *([node.module] if node.module else [])])
            yield from (f"{name}.{alias.name}" for alias in node.names)


def _folder(module: str, root: Path) -> str:
    """The folder of a module: those of `apps` one by one, a module that lies in `apps` itself by its own name."""
    parts = module.removeprefix("graspwave.").split(".")
    if parts[0] != "apps" or len(parts) == 1:
        return parts[0]
    inside = root / "apps" / parts[1]
    return f"{parts[1]}/" if inside.is_dir() else parts[1]


def folders(root: Path) -> dict[str, set[str]]:
    """Which folders each folder imports."""
    found: dict[str, set[str]] = defaultdict(set)
    for part in PARTS:
        for path in sorted((root / part).rglob("*.py")):
            module = ".".join(path.relative_to(root).with_suffix("").parts)
            own = _folder(module, root)
            found[own] |= set()
            for name in imports_of(path.read_text("utf-8"), module):
                if name.removeprefix("graspwave.").split(".")[0] in PARTS:
                    found[own].add(_folder(name, root))
    return {name: {other for other in others if other != name and other in found} for name, others in found.items()}


def _reached(start: str, graph: dict[str, set[str]]) -> set[str]:
    seen: set[str] = set()
    left = list(graph[start])
    while left:
        if (name := left.pop()) not in seen:
            seen.add(name)
            left += graph[name]
    return seen


def rings(graph: dict[str, set[str]]) -> list[list[str]]:
    """Folders that import each other, in one step or more."""
    reached = {name: _reached(name, graph) for name in graph}
    found = {tuple(sorted(other for other in graph if other in reached[name] and name in reached[other])) for name in graph}
    return [list(ring) for ring in sorted(found) if ring]


def drawing(root: Path) -> str:
    """Floors from the roof down, and what each folder stands on directly."""
    graph = folders(root)
    ringed = {name: ring for ring in rings(graph) for name in ring}
    floor: dict[str, int] = {}

    def floor_of(name: str) -> int:
        if name not in floor:
            ring = ringed.get(name, [name])
            below = {other for one in ring for other in graph[one]} - set(ring)
            floor.update(dict.fromkeys(ring, 0))
            level = max((floor_of(other) for other in below), default=-1) + 1
            floor.update(dict.fromkeys(ring, level))
        return floor[name]

    lines = []
    for name in sorted(graph, key=lambda name: (-floor_of(name), name)):
        others = sorted(graph[name], key=lambda other: (-floor_of(other), other))
        lines.append(f"{floor_of(name):2}  {name:<12} -> {' '.join(others)}".rstrip(" ->"))
    lines += [f"ring: {' '.join(ring)}" for ring in rings(graph)] or ["no ring: no arrow goes up"]
    return "\n".join(lines)


HEAD = "<!-- drawn by tests.folders -->\n```\n"

if __name__ == "__main__":
    here = Path(__file__).parents[1]
    if sys.argv[1:] == ["--write"]:
        text = (here / "DEVELOPERS.md").read_text("utf-8")
        before, _, after = text.partition(HEAD)
        (here / "DEVELOPERS.md").write_text(before + HEAD + drawing(here) + after[after.index("\n```"):], "utf-8")
    else:
        print(drawing(Path(sys.argv[1]) if len(sys.argv) > 1 else here))  # noqa: T201
