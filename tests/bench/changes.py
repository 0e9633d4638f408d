"""Every small wrong change of a module's text: a sign, a constant, a condition, a return, a raise, one at a time."""

from __future__ import annotations

import ast
import copy
import types
from collections.abc import Iterator
from typing import Any

__all__ = ["codes", "mutants"]

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
