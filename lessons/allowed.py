"""What an expression may be, held against its tree before anything is worked out."""

from __future__ import annotations

import ast
import warnings
from functools import lru_cache

__all__ = ["ARITHMETIC", "COMPARISONS", "DEEPEST", "EXACT", "LONGEST", "ExpressionError", "parsed", "short"]

LONGEST = 1000
"""Characters of an expression."""

DEEPEST = 60
"""Levels of nesting."""

EXACT = 2**53
"""Whole numbers beyond this are no longer kept exactly."""

ARITHMETIC = (ast.Add, ast.Sub, ast.Mult, ast.Div, ast.FloorDiv, ast.Mod, ast.Pow)
COMPARISONS = (ast.Lt, ast.LtE, ast.Gt, ast.GtE, ast.Eq, ast.NotEq, ast.In, ast.NotIn)

_SIGNS = (*ARITHMETIC, *COMPARISONS, ast.UAdd, ast.USub, ast.Not)
_NODES = (
    ast.Constant, ast.Name, ast.Call, ast.BinOp, ast.UnaryOp, ast.BoolOp, ast.Compare, ast.Tuple, ast.List, ast.Subscript,
    ast.Slice, ast.IfExp, ast.ListComp, ast.GeneratorExp, ast.Attribute,
)
_WORDS = {
    "Lambda": "lambda", "NamedExpr": "an assignment", "JoinedStr": "a formatted text", "Starred": "a star", "Dict": "a table",
    "DictComp": "a table", "Set": "a set", "SetComp": "a set", "Await": "await", "Yield": "yield", "YieldFrom": "yield",
}
_MADE_OF = "made of numbers, names, calls and comparisons"


class ExpressionError(ValueError):
    """An expression that cannot be used: what it must be, what was found, and the repair."""

    def __init__(self, rule: str, got: str, repair: str) -> None:
        self.rule, self.got, self.repair = rule, got, repair
        super().__init__(f"must be {rule} (got {got}). {repair}")


def short(what: ast.AST | str) -> str:
    """An expression, or a text, in a few characters."""
    text = " ".join((what if isinstance(what, str) else ast.unparse(what)).split())
    return text if len(text) <= 60 else text[:57] + "..."


@lru_cache(maxsize=4096)
def parsed(text: str) -> ast.expr:
    """The tree of an expression, in which there is nothing but what an expression may hold.

    Raises
    ------
    ExpressionError
        It is none, or is too long or too deep, or holds something else.
    """
    if len(text) > LONGEST:
        raise ExpressionError(f"at most {LONGEST} characters", str(len(text)), "Give its parts names under [names].")
    if not text.strip():
        raise ExpressionError("an expression", "nothing", "Write what is to be worked out.")
    try:
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")
            tree = ast.parse(" ".join(text.split("\n")).strip(), mode="eval").body
        _allow(tree)
    except ExpressionError:
        raise
    except SyntaxError:
        raise ExpressionError("an expression", short(text), "Mend it: brackets and quotes come in pairs.") from None
    except (ValueError, MemoryError, RecursionError):
        raise ExpressionError("an expression", short(text), "Write it shorter and flatter.") from None
    return tree


def _allow(tree: ast.expr) -> None:
    below: list[tuple[ast.AST, int]] = [(tree, 1)]
    while below:
        node, depth = below.pop()
        if depth > DEEPEST:
            raise ExpressionError(f"at most {DEEPEST} levels deep", "more", "Give its parts names under [names].")
        _allow_node(node)
        below += [(child, depth + 1) for child in ast.iter_child_nodes(node)]


def _allow_node(node: ast.AST) -> None:
    kind = type(node).__name__
    if isinstance(node, ast.expr) and not isinstance(node, _NODES):
        raise ExpressionError(_MADE_OF, f"{_WORDS.get(kind, kind.lower())} in {short(node)}", "Write it without.")
    if isinstance(node, (ast.operator, ast.unaryop, ast.cmpop)) and not isinstance(node, _SIGNS):
        raise ExpressionError("made of + - * / // % ** and comparisons", f"the sign of {kind}", "Use another sign.")
    if isinstance(node, ast.comprehension) and node.is_async:
        raise ExpressionError(_MADE_OF, "async", "Write it without.")
    if isinstance(node, ast.Call) and not isinstance(node.func, ast.Name):
        raise ExpressionError("a call of a name", short(node), "Give what is called a name under [names].")
    if isinstance(node, ast.Constant):
        _allow_constant(node.value)
    name = {"Name": "id", "Attribute": "attr", "keyword": "arg"}.get(kind)
    if name is not None:
        said = getattr(node, name) or "**"
        if said.startswith(("_", "*")):
            raise ExpressionError("made of known names", said, "A name begins with a letter.")


def _allow_constant(value: object) -> None:
    if isinstance(value, (bool, str)) or value is None:
        return
    if not isinstance(value, (int, float)):
        raise ExpressionError(_MADE_OF, short(repr(value)), "Write it without.")
    if not abs(value) <= EXACT:
        raise ExpressionError("made of numbers below 9e15", "a larger one", "Use a smaller number.")
