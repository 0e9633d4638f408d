"""Small wrong changes of a module, one at a time: which does no test notice?

    python -m tests.bench.mutants simulator/pulses.py tests/test_pulses.py tests/test_trace.py

Every comparison, sum, product, constant, condition, boolean and return of the module is changed as a slip of the hand would
change it. The tests are collected once and each is asked which lines of the module it runs through. For each change a child of
this process puts the changed function's code in place of its own and runs the tests that pass its line, the quickest first,
until one fails. What stands outside functions (defaults, tables) is changed in a process of its own that imports the module
anew. What survives is printed, to be read: a test is missing, or the change is none (`DEVELOPERS.md` lists those).
"""

from __future__ import annotations

import argparse
import ast
import gc
import importlib
import json
import os
import resource
import subprocess
import sys
import time
import types
from pathlib import Path
from typing import Any

import pytest

from tests.bench.changes import codes, mutants

LONGEST_S = 40  # of processor time for one change; what takes longer has been noticed


class Hunt:
    """Plugin of pytest that runs the collected tests once for each change, each time in a child."""

    def __init__(self, module: str, source: str, path: Path, only: set[int], longest: float) -> None:
        self.longest = longest
        self.module, self.source, self.path, self.only = module, source, path, only
        self.survived: list[dict[str, Any]] = []
        self.outside: list[tuple[int, str, ast.Module]] = []
        self.count = 0

    def pytest_collection(self) -> None:
        """Before a test is read: its examples are to be the same each time, however slow the machine."""
        from hypothesis import HealthCheck, settings

        settings.register_profile(
            "mutants", derandomize=True, deadline=None, max_examples=30, database=None, suppress_health_check=list(HealthCheck)
        )
        settings.load_profile("mutants")
        importlib.import_module(self.module)

    def passes(self, item: pytest.Item) -> tuple[set[int], float]:
        """Lines of the module that a test runs through, and what it costs."""
        lines: set[int] = set()
        name = str(self.path)

        def trace(frame: Any, event: str, arg: Any) -> Any:
            if frame.f_code.co_filename != name:
                return None
            lines.add(frame.f_code.co_firstlineno)

            def local(frame: Any, event: str, arg: Any) -> Any:
                lines.add(frame.f_lineno)
                return local

            return local

        begun = time.process_time()
        sys.settrace(trace)
        try:
            ok = self.run(item)
        finally:
            sys.settrace(None)
        if not ok:
            print("fails unchanged, left out:", item.nodeid, flush=True)
            return set(), 0.0
        return lines, time.process_time() - begun

    @staticmethod
    def run(item: pytest.Item) -> bool:
        from _pytest.runner import runtestprotocol

        return not any(report.failed for report in runtestprotocol(item, nextitem=None, log=False))

    def pytest_runtestloop(self, session: pytest.Session) -> bool:
        begun = time.time()
        known = [(item, *self.passes(item)) for item in session.items]
        known = sorted([row for row in known if row[1] and row[2] < self.longest], key=lambda row: row[2])
        print(f"{len(known)} tests pass the module, {sum(row[2] for row in known):.0f} s with tracing", flush=True)
        for line, name, inside, tree in mutants(self.source):
            if self.only and line not in self.only:
                continue
            self.count += 1
            tests = [item for item, lines, _ in known if line in lines or any(abs(line - n) <= 6 for n in lines)]
            said = self.child(tree, inside, tests)
            if said == "outside":
                self.outside.append((line, name, tree))
            elif said == "survived":
                self.survived.append({"line": line, "change": name, "in": ".".join(inside), "tests": len(tests)})
                text = self.source.splitlines()[line - 1].strip()
                print(f"SURVIVED {self.path.name}:{line} {name} in {'.'.join(inside)} ({len(tests)} tests): {text}", flush=True)
        print(
            f"{self.count} changes, {len(self.survived)} survived, {len(self.outside)} outside functions, "
            f"{time.time() - begun:.0f} s",
            flush=True,
        )
        return True

    def child(self, tree: ast.Module, inside: tuple[str, ...], tests: list[pytest.Item]) -> str:
        """What became of one change: caught, survived, or outside of any function."""
        try:
            new = dict(codes(compile(tree, str(self.path), "exec")))
        except SyntaxError:
            return "caught"
        old = dict(codes(compile(self.source, str(self.path), "exec")))
        differing = [key for key in new if key in old and new[key] != old[key]]
        functions = {key for key in differing if self._is_function(key)}
        if not functions:
            return "outside"
        pid = os.fork()
        if not pid:
            resource.setrlimit(resource.RLIMIT_CPU, (LONGEST_S + 1000, LONGEST_S + 1000))
            used = int(time.process_time())
            resource.setrlimit(resource.RLIMIT_CPU, (used + LONGEST_S, used + LONGEST_S))
            resource.setrlimit(resource.RLIMIT_AS, (6 << 30, 6 << 30))
            null = os.open(os.devnull, os.O_WRONLY)
            os.dup2(null, 1)
            os.dup2(null, 2)
            code = 1
            try:
                self.put({key: new[key] for key in functions})
                code = 0 if all(self.run(item) for item in tests) else 1
            except BaseException:
                code = 1
            os._exit(code)
        _, status = os.waitpid(pid, 0)
        return "survived" if status == 0 else "caught"

    def _is_function(self, key: tuple[str, ...]) -> bool:
        at: Any = sys.modules[self.module]
        for name in key:
            at = vars(at).get(name) if hasattr(at, "__dict__") else None
            if (
                isinstance(at, types.FunctionType | staticmethod | classmethod | property)
                or hasattr(at, "__wrapped__")
                or hasattr(at, "func")
            ):
                return True
            if at is None:
                return False
        return False

    def put(self, new: dict[tuple[str, ...], types.CodeType]) -> None:
        """Give every function made from this module's code the changed one, and forget what was kept."""
        for found in gc.get_objects():
            if isinstance(found, types.FunctionType) and found.__code__.co_filename == str(self.path):
                key = tuple(part for part in found.__qualname__.split(".") if part != "<locals>")
                if key in new:
                    found.__code__ = new[key]
        for module in list(sys.modules.values()):
            if getattr(module, "__name__", "").startswith("graspwave.") and module.__name__.split(".")[-1] in (
                self.module.split(".")[-1],
                "presets",
            ):
                for value in list(vars(module).values()):
                    if hasattr(value, "cache_clear"):
                        value.cache_clear()


def anew(module: str, path: Path, tree: ast.Module, tests: list[str]) -> bool:
    """Whether a change outside of functions survives, in a process that imports the module so changed."""
    text = Path(f"/tmp/mutant-{os.getpid()}.py")
    text.write_text(ast.unparse(tree), encoding="utf-8")
    code = (
        "import importlib.machinery as m, sys, pytest\n"
        f"path, text = {str(path)!r}, open({str(text)!r}, encoding='utf-8').read()\n"
        "own = m.SourceFileLoader.get_code\n"
        "def get(self, name):\n    return compile(text, path, 'exec') if self.path == path else own(self, name)\n"
        "m.SourceFileLoader.get_code = get\n"
        + _REROOT
        + f"sys.exit(pytest.main({['-q', '-x', '-p', 'no:cacheprovider', '-p', 'no:randomly', *tests]!r}))"
    )
    try:
        done = subprocess.run([sys.executable, "-c", code], capture_output=True, timeout=300, check=False)
    except subprocess.TimeoutExpired:
        return False
    finally:
        text.unlink()
    return done.returncode == 0


_REROOT = """
import importlib, os
from pathlib import Path
for finder in sys.meta_path:
    mapping = getattr(sys.modules.get(getattr(finder, '__module__', ''), None), 'MAPPING', None)
    if mapping and 'graspwave.simulator' in mapping:
        here = Path.cwd()
        mapping['graspwave'] = str(here / 'apps/graspwave')
        mapping.update({f'graspwave.{n}': str(here / n) for n in ('apps', 'lessons', 'simulator')})
"""


def main() -> None:
    asked = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    asked.add_argument("module")
    asked.add_argument("tests", nargs="+")
    asked.add_argument("--lines", help="only these, as 10-20,31")
    asked.add_argument("--no-outside", action="store_true", help="functions only")
    asked.add_argument("--longest", type=float, default=1.0, help="tests that take longer, in s with tracing, are left out")
    given = asked.parse_args()
    exec(_REROOT, {"sys": sys})
    path = Path(given.module).resolve()
    module = "graspwave." + ".".join(path.relative_to(Path.cwd()).with_suffix("").parts)
    os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")
    only = {
        n for part in (given.lines or "").split(",") if part for n in range(int(part.split("-")[0]), int(part.split("-")[-1]) + 1)
    }
    hunt = Hunt(module, path.read_text("utf-8"), path, only, given.longest)
    pytest.main(["-q", "-s", "-p", "no:cacheprovider", *given.tests], plugins=[hunt])
    for line, name, tree in [] if given.no_outside else hunt.outside:
        if anew(module, path, tree, given.tests):
            hunt.survived.append({"line": line, "change": name, "in": "", "tests": -1})
            print(f"SURVIVED {path.name}:{line} {name} outside: {hunt.source.splitlines()[line - 1].strip()}", flush=True)
    print(json.dumps(hunt.survived))


if __name__ == "__main__":
    main()
