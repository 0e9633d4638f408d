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
import copy
import gc
import importlib
import json
import os
import resource
import subprocess
import sys
import time
import types
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest

SIGNS = {
    ast.Lt: (ast.LtE, ast.GtE),
    ast.LtE: (ast.Lt, ast.Gt),
    ast.Gt: (ast.GtE, ast.LtE),
    ast.GtE: (ast.Gt, ast.Lt),
    ast.Eq: (ast.NotEq,),
    ast.NotEq: (ast.Eq,),
    ast.In: (ast.NotIn,),
    ast.NotIn: (ast.In,),
    ast.Is: (ast.IsNot,),
    ast.IsNot: (ast.Is,),
    ast.Add: (ast.Sub,),
    ast.Sub: (ast.Add,),
    ast.Mult: (ast.Div,),
    ast.Div: (ast.Mult,),
    ast.FloorDiv: (ast.Div,),
    ast.Mod: (ast.Mult,),
    ast.Pow: (ast.Mult,),
    ast.BitOr: (ast.BitAnd,),
    ast.BitAnd: (ast.BitOr,),
    ast.And: (ast.Or,),
    ast.Or: (ast.And,),
    ast.LShift: (ast.RShift,),
    ast.RShift: (ast.LShift,),
    ast.USub: (ast.UAdd,),
}
LONGEST_S = 40  # of processor time for one change; what takes longer has been noticed


def changes_of(node: ast.AST) -> Iterator[tuple[str, Any]]:
    """What a node can be changed to: a name of the change, and what does it to a copy of the node (or returns another)."""

    def sign(field: str, kind: type, at: int | None = None) -> Any:
        def change(n: Any) -> Any:
            if at is None:
                setattr(n, field, kind())
            else:
                getattr(n, field)[at] = kind()
            return n

        return change

    if isinstance(node, ast.Compare):
        for i, op in enumerate(node.ops):
            for kind in SIGNS.get(type(op), ()):
                yield f"{type(op).__name__}->{kind.__name__}", sign("ops", kind, i)
    elif isinstance(node, ast.BinOp | ast.AugAssign | ast.BoolOp):
        for kind in SIGNS.get(type(node.op), ()):
            yield f"{type(node.op).__name__}->{kind.__name__}", sign("op", kind)
    elif isinstance(node, ast.UnaryOp) and isinstance(node.op, ast.Not | ast.USub):
        yield f"{type(node.op).__name__} dropped", lambda n: n.operand
    elif isinstance(node, ast.Constant):
        yield from _constants(node)
    elif isinstance(node, ast.If | ast.IfExp | ast.While):
        yield "condition turned", lambda n: _with(n, test=ast.UnaryOp(ast.Not(), n.test))
    elif isinstance(node, ast.comprehension) and node.ifs:
        yield "filter dropped", lambda n: _with(n, ifs=[])
    elif isinstance(node, ast.Return) and not (node.value is None or isinstance(node.value, ast.Constant)):
        yield "returns None", lambda n: _with(n, value=ast.Constant(None))
    elif isinstance(node, ast.Raise):
        yield "raise dropped", lambda n: ast.Pass()
    elif isinstance(node, ast.Break):
        yield "break->continue", lambda n: ast.Continue()
    elif isinstance(node, ast.Continue):
        yield "continue->break", lambda n: ast.Break()
    elif isinstance(node, ast.Expr) and isinstance(node.value, ast.Call):
        yield "call dropped", lambda n: ast.Pass()
    elif isinstance(node, ast.Call) and isinstance(node.func, ast.Name | ast.Attribute):
        name = node.func.id if isinstance(node.func, ast.Name) else node.func.attr
        other = {
            "min": "max",
            "max": "min",
            "ceil": "floor",
            "floor": "ceil",
            "minimum": "maximum",
            "maximum": "minimum",
            "any": "all",
            "all": "any",
        }.get(name)
        if other:
            yield (
                f"{name}->{other}",
                lambda n: _with(n, func=_with(n.func, **{"id" if isinstance(n.func, ast.Name) else "attr": other})),
            )


def _constants(node: ast.Constant) -> Iterator[tuple[str, Any]]:
    value = node.value
    if isinstance(value, bool):
        yield f"{value}->{not value}", lambda n: ast.Constant(not value)
    elif isinstance(value, int | float):
        for other in (value + 1, value - 1) if isinstance(value, int) else (2.0 * value if value else 1.0, value - 1.0):
            yield f"{value}->{other}", lambda n, other=other: ast.Constant(other)
    elif isinstance(value, str) and value.replace("_", "").isalpha():  # a name; words are read by people
        yield f"'{value}' changed", lambda n: ast.Constant(value + "_")


def _with(node: Any, **fields: Any) -> Any:
    for name, value in fields.items():
        setattr(node, name, value)
    return node


class Finder(ast.NodeVisitor):
    """All nodes that may be changed, with the function that they stand in; words for people and types are passed over."""

    def __init__(self) -> None:
        self.found: list[tuple[ast.AST, tuple[str, ...]]] = []
        self.inside: list[str] = []

    def visit(self, node: ast.AST) -> Any:
        if isinstance(node, ast.JoinedStr) or (isinstance(node, ast.Expr) and isinstance(node.value, ast.Constant)):
            return
        if isinstance(node, ast.Assign) and any(isinstance(t, ast.Name) and t.id == "__all__" for t in node.targets):
            return
        self.found.append((node, tuple(self.inside)))
        if isinstance(node, ast.FunctionDef | ast.ClassDef):
            self.inside.append(node.name)
            for part in (*node.body, *(d for d in getattr(node, "args", ast.arguments(defaults=[], kw_defaults=[])).defaults)):
                self.visit(part)
            self.inside.pop()
        elif isinstance(node, ast.AnnAssign):
            if node.value:
                self.visit(node.value)
        else:
            super().generic_visit(node)


def mutants(source: str) -> Iterator[tuple[int, str, tuple[str, ...], ast.Module]]:
    """Line, name of the change, function (empty outside of one), and the module so changed."""
    whole = ast.parse(source)
    finder = Finder()
    finder.visit(whole)
    functions = {id(n) for n, _ in finder.found if isinstance(n, ast.FunctionDef)}
    assert functions
    for index, (node, inside) in enumerate(finder.found):
        for name, change in changes_of(node):
            changed = copy.deepcopy(whole)
            twin = Finder()
            twin.visit(changed)
            target = twin.found[index][0]
            other = change(target)
            if other is not target:
                _replace(changed, target, other)
            yield getattr(node, "lineno", 0) or node.target.lineno, name, inside, ast.fix_missing_locations(changed)  # type: ignore[attr-defined]


def _replace(tree: ast.AST, old: ast.AST, new: ast.AST) -> None:
    for node in ast.walk(tree):
        for field, value in ast.iter_fields(node):
            if value is old:
                setattr(node, field, ast.copy_location(new, old))
            elif isinstance(value, list):
                for i, part in enumerate(value):
                    if part is old:
                        value[i] = ast.copy_location(new, old)


def codes(code: types.CodeType, names: tuple[str, ...] = ()) -> Iterator[tuple[tuple[str, ...], types.CodeType]]:
    """Every named function's code in a module's, by its path of names."""
    for const in code.co_consts:
        if isinstance(const, types.CodeType):
            yield (*names, const.co_name), const
            yield from codes(const, (*names, const.co_name))


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
