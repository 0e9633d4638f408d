"""What `pip install` puts on a machine: one name, every folder under it, and data beside the modules that read it."""

from __future__ import annotations

import tomllib
from pathlib import Path

ROOT = Path(__file__).parents[1]


def test_every_folder_with_modules_is_packed() -> None:
    listed = set(tomllib.loads((ROOT / "pyproject.toml").read_text("utf-8"))["tool"]["setuptools"]["packages"])
    folders = {
        ".".join(("graspwave", *path.parent.relative_to(ROOT).parts))
        for top in ("simulator", "lessons", "apps") for path in (ROOT / top).rglob("__init__.py")
    }
    assert listed == folders - {"graspwave.apps.graspwave"} | {"graspwave"}


def test_the_version_is_the_one_of_the_project() -> None:
    import graspwave

    assert graspwave.__version__ == tomllib.loads((ROOT / "pyproject.toml").read_text("utf-8"))["project"]["version"]
