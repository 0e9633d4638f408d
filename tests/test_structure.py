"""The house: simulator knows nothing of pages, and a stage imports only what comes before it."""

from __future__ import annotations

import ast
import os
import re
import subprocess
import sys
from pathlib import Path

import folders
import pytest

ROOT = Path(__file__).parents[1]
ORDER = (
    "compiling", "show", "results", "facts", "words", "guarded", "scene_file", "scene", "presets", "scenes", "pulses", "trace",
    "dose", "electrode", "notices", "axon", "conductor", "field", "recruitment", "answers", "sensation", "muscle", "hand",
    "driving", "rising", "curve", "run", "clearing", "folding", "reach", "practice", "shapley", "lagging", "adding", "why",
    "other_numbers",
)
LAZY = {"simulator.show": {"bokeh", "pandas"}, "simulator.scene_file": {"tomlkit"}}
"""What a module asks for inside a function only, once it is wanted (test_simulator_loads_no_page_library)."""

ALLOWED = {"simulator": {"simulator"}, "lessons": {"simulator", "lessons"}, "apps": {"simulator", "lessons", "apps"}}
PAGES = ("explore", "practise", "explain", "teach", "start", "proof")
OUTSIDE = {
    "simulator": {"numpy", "scipy", "numba"}, "lessons": {"numpy", "markdown_it"},
    "apps": {"numpy", "bokeh", "panel", "param", "tornado", "sqlalchemy", "segno", "jinja2", "ifaddr", "markupsafe"},
}


def imports_of(source: str, module: str) -> set[str]:
    """Absolute names of all modules that a source text imports, those inside functions too."""
    found: set[str] = set()
    package = module.split(".")
    for node in ast.walk(ast.parse(source)):
        if isinstance(node, ast.Import):
            found |= {alias.name for alias in node.names}
        elif isinstance(node, ast.ImportFrom):
            base = package[: len(package) - node.level] if node.level else []
            name = ".".join([*base, *([node.module] if node.module else [])])
            found |= {f"{name}.{alias.name}" for alias in node.names} | {name}
    return {name.removeprefix("graspwave.") for name in found}  # a folder's own name, however it is installed


def modules(package: str) -> list[tuple[str, Path]]:
    return [
        (".".join(path.relative_to(ROOT).with_suffix("").parts), path)
        for path in sorted((ROOT / package).rglob("*.py"))
    ]


def backward(module: str, source: str) -> set[str]:
    """Stages of `simulator` that a module imports although they come after its own."""
    own = module.split(".")[1]
    if own == "__init__":
        return set()
    stages = {name.split(".")[1] for name in imports_of(source, module) if name.startswith("simulator.")}
    return {stage for stage in stages & set(ORDER) if ORDER.index(stage) > ORDER.index(own)}


def test_every_stage_has_its_place_in_the_order() -> None:
    stages = {module.split(".")[1] for module, _ in modules("simulator")} - {"__init__"}
    assert stages <= set(ORDER), stages - set(ORDER)


def test_no_stage_imports_a_later_one() -> None:
    for module, path in modules("simulator"):
        assert not backward(module, path.read_text("utf-8")), module


def test_a_backward_import_would_be_found() -> None:
    assert backward("simulator.pulses", "from simulator.hand import opening") == {"hand"}
    assert backward("simulator.muscle.force", "from ..run import simulate") == {"run"}


@pytest.mark.parametrize("package", ["simulator", "lessons", "apps"])
def test_packages_import_only_what_they_may(package: str) -> None:
    ours = {"simulator", "apps", "lessons", "tests"}
    for module, path in modules(package):
        tops = {name.split(".")[0] for name in imports_of(path.read_text("utf-8"), module)} - {"", "graspwave"}
        assert tops & ours <= ALLOWED[package], module
        assert tops - ours <= OUTSIDE[package] | LAZY.get(module, set()) | set(sys.stdlib_module_names), module


def over_to_another_page(module: str, source: str) -> set[str]:
    """Pages that a module of a page, or of what lies under the pages, imports although they are not its own."""
    own = module.split(".")[1]
    pages = {name.split(".")[1] for name in imports_of(source, module) if name.startswith("apps.")} & set(PAGES)
    return pages - {own} if own in (*PAGES, "told", "desk", "files", "look", "controls", "web") else set()


def test_no_page_imports_another_and_nothing_under_the_pages_imports_one() -> None:
    for module, path in modules("apps"):
        assert not over_to_another_page(module, path.read_text("utf-8")), module


def test_a_page_that_imports_another_would_be_found() -> None:
    assert over_to_another_page("apps.practise.page", "from graspwave.apps.explore.curve import CurveView") == {"explore"}
    assert over_to_another_page("apps.told.words", "def f():\n    from graspwave.apps.teach import bench") == {"teach"}


def test_no_arrow_goes_up_and_the_drawing_is_of_now() -> None:
    now = folders.drawing(ROOT)
    assert now.endswith("no ring: no arrow goes up")
    text = (ROOT / "DEVELOPERS.md").read_text("utf-8")
    drawn = text.split("<!-- drawn by tests.folders -->\n```\n")[1].split("\n```")[0]
    assert drawn == now, "python -m tests.folders --write"


def test_a_ring_would_be_found() -> None:
    assert folders.rings({"look": {"web"}, "web": {"told", "look"}, "told": set()}) == [["look", "web"]]
    assert folders.rings({"look": {"web"}, "web": {"told"}, "told": set()}) == []


def pages_imported(path: str, source: str) -> set[str]:
    """Pages that a module of JavaScript takes something from although it is not of theirs."""
    given = (str(Path(path).parent / name) for name in re.findall(r"from '(\.[^']+)'", source))
    tops = {os.path.relpath(os.path.normpath(name), "apps").split("/")[0] for name in given}
    return (tops & set(PAGES)) - {path.split("/")[1]}


def test_no_page_imports_another_in_the_browser_either() -> None:
    scripts = sorted((ROOT / "apps").rglob("*.js"))
    assert len(scripts) > 60
    for path in scripts:
        assert not pages_imported(path.relative_to(ROOT).as_posix(), path.read_text("utf-8")), path
    assert pages_imported("apps/practise/arm.js", "import { moment } from '../explore/zooms.js'") == {"explore"}


def test_where_would_i_change_names_what_is_there() -> None:
    text = (ROOT / "DEVELOPERS.md").read_text("utf-8")
    rows = [row for row in text.split("## Where would I change")[1].split("\n## ")[0].split("\n") if row.startswith("| ")][2:]
    asked = ("width of an object", "most learners in a room", "a setting's label", "length of a learner's words", "default zoom",
             "wall text size", "skin colour", "a limit's wording", "sheet's phone line", "opening colour", "slider's step",
             "curve's currents")  # fmt: skip
    for what in asked:
        assert sum(what in row for row in rows) == 1, what
    for row in rows:
        what, where = row.strip("| ").split(" | ")
        paths = [name for name in re.findall(r"`([^`]+)`", where) if "/" in name]
        assert paths, row
        assert all((ROOT / name).exists() for name in paths), row
        for name in re.findall(r"\(`([^`]+)`\)", what):
            assert name in (ROOT / paths[0]).read_text("utf-8"), row


def test_what_is_told_loads_no_panel() -> None:
    told = [f"graspwave.{module}" for module, _ in modules("apps") if module.startswith("apps.told.") and "__" not in module]
    assert len(told) > 8
    code = "\n".join([
        "import sys, importlib", f"for name in {told}: importlib.import_module(name)",
        "print([m for m in ('param', 'panel') if m in sys.modules])",
    ])
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True, cwd=ROOT)
    assert done.stdout.strip() == "[]"


def test_simulator_loads_no_page_library() -> None:
    names = "param", "panel", "bokeh", "pandas", "tomlkit"
    code = f"import sys; from graspwave import simulator; print([m for m in {names} if m in sys.modules])"
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True, cwd=ROOT)
    assert done.stdout.strip() == "[]"


def test_nothing_else_stands_at_the_top() -> None:
    tracked = {"README.md", "DEVELOPERS.md", "pyproject.toml", "LICENSE", "simulator", "apps", "tests", "lessons"}
    listed = subprocess.run(["git", "ls-files"], capture_output=True, text=True, check=True, cwd=ROOT).stdout.split("\n")
    tops = {line.split("/")[0] for line in listed if line}
    assert {name for name in tops if not name.startswith(".")} <= tracked


LONGEST = 60
"""Lines of a function, its docstring apart."""


def long_functions(source: str) -> list[str]:
    """Functions of more than `LONGEST` lines."""
    found = []
    for node in ast.walk(ast.parse(source)):
        if isinstance(node, ast.FunctionDef | ast.AsyncFunctionDef):
            said = ast.get_docstring(node, clean=False)
            lines = node.end_lineno - node.lineno + 1 - (said.count("\n") + 1 if said else 0)  # type: ignore[operator]
            found += [node.name] if lines > LONGEST else []
    return found


def test_no_function_is_too_long_to_be_read_at_once() -> None:
    for package in ("simulator", "lessons", "apps"):
        for module, path in modules(package):
            assert not long_functions(path.read_text("utf-8")), module


def test_a_long_function_would_be_found() -> None:
    assert long_functions("def f():\n" + "    a = 1\n" * LONGEST) == ["f"]
    assert not long_functions("def f():\n" + "    a = 1\n" * (LONGEST - 1))


def test_a_module_and_a_public_function_never_share_a_name() -> None:
    from graspwave import simulator

    stages = set(ORDER) - {"scenes", "presets"}
    clashes = {name for name in simulator.__all__ if name in stages and callable(getattr(simulator, name))}
    assert not clashes
