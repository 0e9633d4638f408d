"""What the program stands on, with licences, as installed: ``python tests/licences.py [--pinned | --weaknesses FILE]``."""

from __future__ import annotations

import json
import re
import sys
from importlib.metadata import Distribution, distribution
from pathlib import Path

__all__ = ["licence_of", "stands_on", "weaknesses"]

_MARKER = re.compile(r"extra\s*==")
_WINDOWS = re.compile(r"(platform_system|sys_platform|os_name)\s*==\s*['\"](Windows|win32|nt)['\"]")


def stands_on(name: str = "graspwave") -> dict[str, Distribution]:
    """All that must be there for a package to run, by name, without the package itself; no extras."""
    found: dict[str, Distribution] = {}
    ahead = [name]
    while ahead:
        for needed in distribution(ahead.pop()).requires or ():
            what, _, condition = needed.partition(";")
            key = re.split(r"[\s\[<>=!~(]", what.strip())[0].lower().replace("_", "-")
            if key in found or _MARKER.search(condition) or _WINDOWS.search(condition):
                continue
            try:
                found[key] = distribution(key)
            except ModuleNotFoundError:  # asked for on other systems or older Pythons only
                continue
            ahead.append(key)
    return dict(sorted(found.items()))


def licence_of(package: Distribution) -> str:
    """A package's licence as it says itself: its expression, its class, or the first line of its text."""
    said = package.metadata
    if expression := said.get("License-Expression"):
        return str(expression)
    classes = [line.split("::")[-1].strip() for line in said.get_all("Classifier") or () if line.startswith("License ::")]
    named = [one for one in classes if one != "OSI Approved"]
    if named:
        return ", ".join(named)
    text = (said.get("License") or "").strip()
    return text.splitlines()[0] if text else "not said"


def weaknesses(found: Path) -> tuple[list[str], int, int]:
    """Lines of known weaknesses, how many packages were looked up, and how many could not be."""
    if not found.is_file():
        return [], 0, 0
    packages = json.loads(found.read_text("utf-8"))["dependencies"]
    lines = [f"{one['name']} {one['version']}: {weak['id']}, mended in {', '.join(weak['fix_versions']) or 'none yet'}"
             for one in packages for weak in one.get("vulns", ())]
    return lines, sum("vulns" in one for one in packages), sum("skip_reason" in one for one in packages)


def main(arguments: list[str]) -> int:
    """Print what was asked for."""
    say = sys.stdout.write
    if arguments[:1] == ["--weaknesses"]:
        lines, looked, skipped = weaknesses(Path(arguments[1]))
        say("".join(f"audit: {line}\n" for line in lines))
        say(f"audit: {len(lines)} known weaknesses in {looked} packages; {skipped} could not be looked up\n")
        return 1 if lines else 0
    for name, package in stands_on().items():
        say(f"{name}=={package.version}\n" if arguments == ["--pinned"] else f"{name} {package.version}: {licence_of(package)}\n")
    return 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
