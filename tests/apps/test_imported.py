"""Files behind a module: against what Python itself says it loaded."""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path

from graspwave.apps.teach import imported

COMPILED = "graspwave.apps.teach.compiled"


def test_every_file_that_python_loads_is_among_them() -> None:
    listed = "[m.__file__ for n, m in sys.modules.items() if n.startswith('graspwave.')]"
    code = f"import sys, {COMPILED}; print(*{listed}, sep='\\n')"
    loaded = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True).stdout.split()
    found = {file.resolve() for file in imported.files_behind(COMPILED)}
    missing = {Path(file).resolve() for file in loaded} - found
    assert not missing
    assert len(loaded) > 50


def test_data_are_among_them_and_pages_are_not() -> None:
    names = {"/".join(file.parts[-2:]) for file in imported.files_behind(COMPILED)}
    assert {"facts/hand.toml", "conductor/maps.npz", "lessons/glossary.toml", "told/findings.py", "told/numbers.py"} <= names
    assert not {"explore/page.py", "desk/state.py", "practise/page.py"} & names


def test_imports_of_all_forms_are_followed(tmp_path: Path) -> None:
    file = tmp_path / "a.py"
    file.write_text(
        "import graspwave.one, graspwave.two as two\nfrom graspwave.three import (\n    x,  # why\n    y as z,\n)\n"
        "def f():\n    from . import near\n    from ..far import away\n", "utf-8")
    found = set(imported._imports(file, ["graspwave", "apps", "here", "a"]))
    assert {"graspwave.one", "graspwave.two", "graspwave.three", "graspwave.three.x", "graspwave.three.y",
            "graspwave.apps.here.near", "graspwave.apps.far.away"} <= found
