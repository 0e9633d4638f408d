"""Expressions: what they can do, what they say when they cannot, and that nothing else is ever run."""

from __future__ import annotations

import ast
import contextlib
import dataclasses
import time
from typing import Any

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from small_words import NAMES

from graspwave import simulator as sim
from graspwave.lessons import vocabulary
from graspwave.lessons.expressions import BROKEN, Budget, ExpressionError, Skipped, evaluate, findings
from graspwave.lessons.numerals import HoleError, fill, holes, shown, told


@pytest.mark.parametrize(
    ("text", "value"),
    [
        ("1 + 2 * 3 - 4 / 8", 6.5),
        ("7 // 2 + 7 % 2", 4),
        ("2 ** 10", 1024),
        ("-best(t)", -14.0),
        ("+3", 3),
        ("1 < 2 <= 2 < 3", True),
        ("3 > 2 > 2", False),
        ("not (1 > 2) and (2 == 2 or 1 / 0 > 1)", True),
        ("1 > 2 and 1 / 0 > 1", False),
        ("best(t) if best(t) > best(s) else best(s)", 20.0),
        ("[i * 2 for i in (1, 2, 3) if i != 2]", [2, 6]),
        ("sum(i * j for i in (1, 2) for j in (3, 4))", 21),
        ("[a - b for a, b in zip((5, 6), (1, 2))]", [4, 4]),
        ("max((10, 20), key=abs)", 20),
        ("A[5]", 5.0),
        ("A[-1]", 60.0),
        ("len(A[10:20])", 10),
        ("(1, 2, 3)[1]", 2),
        ("shares['wrist']", -7.0),
        ("why(s, t).total_mm < 1000", True),
        ("len(A[A > 30])", 30),
        ("sum(A * 2 > 60)", 30),
        ("'wrist' in shares", True),
        ("4 not in [1, 2]", True),
        ("[1] + [2, 3]", [1, 2, 3]),
        ("min(3, 2)", 2),
        ("round(2.567, 1)", 2.6),
        ("'a' == 'a'", True),
        ("True", True),
        ("s.hand.flexor_length_factor", 1.0),
        (" 1 +\n 1 ", 2),
        ("sqrt(A)[4]", 2.0),
    ],
)
def test_what_an_expression_can_do(text: str, value: object) -> None:
    found = evaluate(text, NAMES)
    assert found == value
    assert type(found) is type(value)


@pytest.mark.parametrize(
    ("text", "message"),
    [
        ("", "must be an expression (got nothing). Write what is to be worked out."),
        ("best(t", "must be an expression (got best(t). Mend it: brackets and quotes come in pairs."),
        ("bset(t)", "must be made of known names (got bset). Did you mean best?"),
        ("true", "must be made of known names (got true). Did you mean True?"),
        ("qqqq", "must be made of known names (got qqqq). Give it under [names]."),
        ("1 / (2 - 2)", "must be a number (got a division by zero in 1 / (2 - 2)). Divide by what is never 0."),
        ("7 % 0", "must be a number (got a division by zero in 7 % 0). Divide by what is never 0."),
        ("(-8) ** 0.5", "must be a number (got the root of a negative one in (-8) ** 0.5). Keep it positive."),
        ("2 ** 1000", "must be a power of at most 100 (got 1000). Use a smaller power."),
        (
            "A + A[1:]",
            "must be arithmetic of lists of one length (got 61 and 60 numbers in A + A[1:]). Take both from the same currents.",
        ),
        ("'a' * 9", "must be arithmetic of numbers (got 'a' and 9 in 'a' * 9). Take one number of each."),
        ("[1] * 9", "must be arithmetic of numbers (got [1] and 9 in [1] * 9). Take one number of each."),
        ("'%s' % 9", "must be arithmetic of numbers (got '%s' and 9 in '%s' % 9). Take one number of each."),
        ("best + 1", "must be arithmetic of numbers (got a function and 1 in best + 1). Take one number of each."),
        ("-s", "must be a number behind its sign (got a scene in -s). Take one number of it."),
        ("best(t) and True", "must be yes or no (got 14 in best(t)). Compare it, for example with > 0."),
        ("A > 3 or True", "must be yes or no (got 61 numbers in A > 3). Compare it, for example with > 0."),
        (
            "1 < 'a'",
            "must be what can be worked out (got 1 < 'a': '<' not supported between instances of 'int' and 'str'). Mend what "
            "is handed in.",
        ),
        (
            "A[99]",
            "must be what can be worked out (got A[99]: index 99 is out of bounds for axis 0 with size 61). Mend what is "
            "handed in.",
        ),
        ("A['a']", "must be taken by a whole number or a slice (got 'a' in A['a']). Use [0], [-1] or [2:5]."),
        ("best(t)[0]", "must be taken from a list or a table (got 14 in best(t)[0]). Write it without [ ]."),
        ("shares['wirst']", "must be a key of shares (got 'wirst'). Did you mean wrist?"),
        ("why(s, t).share", "must be a result of why(s, t) (got share). Did you mean shares?"),
        ("A.real", "must be a result of A (got real). Write it without the point."),
        ("A(1)", "must be a call of a function (got A, 61 numbers). Write it without ( )."),
        ("best(s)(t)", "must be a call of a name (got best(s)(t)). Give what is called a name under [names]."),
        (
            "best(1)",
            "must be what can be worked out (got best(1): 'int' object has no attribute 'hand'). Mend what is handed in.",
        ),
        (
            "fails(s)",
            "must be what the model can work out (got fails(s): 'channel.0.pulse.amplitude_ma' must be 0 to 60 (got 90)). "
            "Mend that value.",
        ),
        ("[i for i in best(t)]", "must be a loop over a list (got 14 in best(t)). Loop over a list such as (10, 20, 30)."),
        ("[i for i, j in (1, 2)]", "must be a loop whose names fit its values (got 1 for (i, j)). Name each value once."),
        ("[1 for i in A for j in A]", "must be a loop of at most 1000 turns (got more). Loop over fewer values."),
        ("sqrt(A, A)", "must be a call with one value (got 2 in sqrt(A, A)). Hand in what it asks for."),
        ("sqrt(A, out=A)", "must be a call without that option (got out in sqrt(A, out=A)). Leave it out."),
        (
            "array([1], dtype='U99999999')",
            "must be a call without that option (got dtype in array([1], dtype='U99999999')). Leave it out.",
        ),
        ("sum([[1]], [2])", "must be a call with one value (got 2 in sum([[1]], [2])). Hand in what it asks for."),
        ("9" * 20, "must be made of numbers below 9e15 (got a larger one). Use a smaller number."),
        ("1e999", "must be made of numbers below 9e15 (got a larger one). Use a smaller number."),
        ("1 + " * 400 + "1", "must be at most 1000 characters (got 1601). Give its parts names under [names]."),
        ("1 + " * 70 + "1", "must be at most 60 levels deep (got more). Give its parts names under [names]."),
        ("1 << 3", "must be made of + - * / // % ** and comparisons (got the sign of LShift). Use another sign."),
        ("1 is 1", "must be made of + - * / // % ** and comparisons (got the sign of Is). Use another sign."),
        ("lambda: 1", "must be made of numbers, names, calls and comparisons (got lambda in lambda: 1). Write it without."),
        ("(x := 1)", "must be made of numbers, names, calls and comparisons (got an assignment in (x := 1)). Write it without."),
        ("f'{s}'", "must be made of numbers, names, calls and comparisons (got a formatted text in f'{s}'). Write it without."),
        ("max(*A)", "must be made of numbers, names, calls and comparisons (got a star in *A). Write it without."),
        ("best(**shares)", "must be made of known names (got **). A name begins with a letter."),
        ("{1: 2}", "must be made of numbers, names, calls and comparisons (got a table in {1: 2}). Write it without."),
        ("1j", "must be made of numbers, names, calls and comparisons (got 1j). Write it without."),
        ("b'a'", "must be made of numbers, names, calls and comparisons (got b'a'). Write it without."),
    ],
)
def test_what_it_says_when_it_cannot(text: str, message: str) -> None:
    with pytest.raises(ExpressionError) as error:
        evaluate(text, NAMES)
    assert str(error.value) == message


ESCAPES = [
    "__import__('os').system('true')",
    "().__class__.__base__.__subclasses__()",
    "s.__class__",
    "s.__init__.__globals__",
    "best.__globals__",
    "best.__code__",
    "best.func_globals",
    "(lambda: 1)()",
    "[x for x in ().__class__.__mro__]",
    "(x for x in [1]).gi_frame",
    "[1].append",
    "A.tofile('x')",
    "A.dump('x')",
    "A.data",
    "A.ctypes",
    "A.base",
    "'{0.__class__}'.format(s)",
    "'%s' % s",
    "f'{s.__class__}'",
    "getattr(s, 'hand')",
    "open('x', 'w')",
    "exec('1')",
    "eval('1')",
    "compile('1', '', 'eval')",
    "globals()",
    "vars(s)",
    "type(s)",
    "dir(s)",
    "breakpoint()",
    "input()",
    "print(1)",
    "help()",
    "s.load('x')",
    "s.replace('title', 'x')",
    "s.dumps()",
    "s.loads('')",
    "min((1,), key=lambda x: x)",
    "max((1,), key=s.replace)",
    "(a := best)(s)",
    "await best",
    "(yield 1)",
    "{**shares}",
    "{x: 1 for x in A}",
    "{1, 2}",
    "[*A]",
    "best(*[s])",
    "best(**{'hand': s})",
    "s @ s",
    "~1",
    "1 | 2",
    "...",
    "b'x'",
    "shares.pop('wrist')",
    "shares.__getitem__",
    "shares.update",
    "why.__wrapped__",
    "session.cache_clear()",
    "s.hand.__class__",
    "A.__array_interface__",
    "A.setflags",
    "sqrt.at(A, 0)",
    "sqrt(A, A)",
    "sqrt(A, out=A)",
    "array(A, ndmin=32)",
    "array(['x'], dtype=object)",
    "sorted([1], key=open)",
    "max([s], key=eval)",
    "round.__self__",
    "min.__self__.open",
    "zip.__doc__",
    "[i async for i in A]",
    "_",
    "__name__",
    "best(_x=1)",
    "s.channel[0].pulse.second_phase.__class__",
    "s.channel[0].cycle_s",
]


@pytest.mark.parametrize("names", [NAMES, vocabulary.NAMES], ids=["small", "all"])
@pytest.mark.parametrize("text", ESCAPES)
def test_no_way_leads_out(text: str, names: dict[str, Any]) -> None:
    before = np.array(NAMES["A"])
    with pytest.raises(ExpressionError):
        evaluate(text, names)
    assert np.array_equal(NAMES["A"], before)


BOMBS = [
    "9 ** 9 ** 9",
    "2 ** 2 ** 2 ** 2 ** 2 ** 2",
    "'a' * 10 ** 9",
    "[0] * 10 ** 9",
    "(1,) * 10 ** 9",
    "10 ** 100 * 10 ** 100 * 1.5",
    "[[[i for i in A] for j in A] for k in A]",
    "sum([i for i in A for j in A for k in A])",
    "(" * 150 + "1" + ")" * 150,
    "-" * 500 + "1",
    "not " * 200 + "True",
    "[" * 90 + "]" * 90,
    "1 if " * 80 + "1",
    "'%9999999999d' % 1",
    "max('a' * 9999999)",
]


@pytest.mark.parametrize("text", BOMBS)
def test_nothing_grows_without_end(text: str) -> None:
    start = time.process_time()
    with contextlib.suppress(ExpressionError):
        shown(evaluate(text, NAMES))
    assert time.process_time() - start < 2.0  # s of this process: the slowest takes a few hundredths


def test_numbers_stay_numbers_however_often_they_are_multiplied() -> None:
    names = dict(NAMES, n=7)
    for _ in range(12):
        names["n"] = evaluate("n * n", names)
    assert names["n"] == float("inf")


def test_time_is_bounded_over_all_expressions() -> None:
    with pytest.raises(ExpressionError) as error:
        evaluate("best(s)", NAMES, Budget(-1.0))
    assert str(error.value) == "must be worked out, with all the others, in -1 s (got more). Ask for fewer runs, or shorter ones."


def test_time_is_bounded_inside_a_call_that_calls_others() -> None:
    budget = Budget(300.0)
    calls: list[float] = []

    def slow(value: float) -> float:
        calls.append(value)
        budget._end = 0.0  # as if it had taken all the time
        return value

    with pytest.raises(ExpressionError, match="worked out, with all the others, in 300 s"):
        evaluate("max((1, 2, 3), key=slow)", {"max": max, "slow": slow}, budget)
    assert calls == [1]


def test_what_stands_on_a_broken_name_is_skipped() -> None:
    with pytest.raises(Skipped):
        evaluate("1 + gone", {"gone": BROKEN})


def test_an_expression_changes_nothing_outside_it() -> None:
    names = dict(NAMES)
    assert evaluate("[i for i in (1, 2)]", names) == [1, 2]
    with pytest.raises(ExpressionError, match="known names"):
        evaluate("[i for i in (1, 2)] == [i]", names)
    assert names == NAMES or set(names) == set(NAMES)


class _Stranger:
    """An object that no word of the lessons gives; nothing of it may be read."""

    secret = 1


def test_attributes_are_those_of_our_own_records_only() -> None:
    with pytest.raises(ExpressionError, match="a result of it"):
        evaluate("it.secret", {"it": _Stranger()})


LEAVES = st.sampled_from(
    ["1", "2.5", "s", "t", "A", "best", "shares", "'a'", "True", "None", "x", "__class__", "open", "()", "[]"]
)
GROWN = st.recursive(
    LEAVES,
    lambda below: st.one_of(
        st.tuples(
            below, st.sampled_from(["+", "-", "*", "/", "//", "%", "**", "<", "==", "in", "and", "or", "is", "@", "|"]), below
        ).map(lambda parts: f"({parts[0]} {parts[1]} {parts[2]})"),
        st.tuples(below, below).map(lambda parts: f"{parts[0]}[{parts[1]}]"),
        st.tuples(below, below).map(lambda parts: f"{parts[0]}({parts[1]})"),
        st.tuples(below, st.sampled_from(["real", "hand", "T", "__class__", "shape", "pop", "format"])).map(".".join),
        st.tuples(below, below).map(lambda parts: f"[{parts[0]} for x in {parts[1]}]"),
        st.tuples(below, below, below).map(lambda parts: f"({parts[0]} if {parts[1]} else {parts[2]})"),
        below.map(lambda part: f"(-{part})"),
        below.map(lambda part: f"(not {part})"),
        below.map(lambda part: f"max({part}, key={part})"),
    ),
    max_leaves=12,
)


@settings(max_examples=150, deadline=None)
@given(st.one_of(GROWN, st.text(max_size=60), st.text(st.sampled_from("()[]{}.,:'\"+-*/<>=asbt _019\\\n"), max_size=60)))
def test_anything_gives_a_value_or_one_clear_mistake(text: str) -> None:
    refused: ExpressionError | None = None
    try:
        found = evaluate(text, NAMES)
    except ExpressionError as error:
        refused = error
    if refused is not None:
        assert refused.rule
        assert refused.got
        assert len(refused.got) < 400
        assert refused.repair.endswith((".", "?"))
        return
    tree = ast.parse(" ".join(text.split("\n")).strip(), mode="eval")
    assert not any(isinstance(node, (ast.Lambda, ast.NamedExpr, ast.JoinedStr, ast.Starred)) for node in ast.walk(tree))
    assert not any(isinstance(node, ast.Attribute) and node.attr.startswith("_") for node in ast.walk(tree))
    assert shown(found)


def test_findings_are_what_was_compared() -> None:
    assert findings("best(t) > best(s) + 3 or not (best(t) < 5)", NAMES) == ["best(t) = 14", "best(s) + 3 = 23"]
    assert findings("1 < 2", NAMES) == []
    assert findings("'wrist' in shares", NAMES) == ["shares = a table of wrist, tone"]


@pytest.mark.parametrize(
    ("value", "form", "text"),
    [
        (14.0, "", "14"),
        (61.666, "", "61.7"),
        (0.123456, "", "0.123"),
        (1234.6, "", "1235"),
        (0.00001234, "", "0.000012"),
        (7, "", "7"),
        (-3.2, "", "−3.2"),
        (-0.01, ".0f", "0"),
        (0.5, ".0%", "50%"),
        (1234.5, ",.0f", "1,234"),
        (2.0, "+.1f", "+2.0"),
        (2.6, "d", "3"),
        ("middle", "", "middle"),
        (999.6, "", "1000"),
        (0, "", "0"),
        (0.0, ".1f", "0.0"),
    ],
)
def test_numbers_are_written_as_people_write_them(value: object, form: str, text: str) -> None:
    assert told(value, form) == text


@pytest.mark.parametrize(
    ("value", "form", "message"),
    [
        (True, "", "must be a number or a text (got yes). Take one number of it, for example with [0] or max( )."),
        ("a", ".0f", "must be a number (got 'a'). Take one number of it, for example with [0] or max( )."),
        (float("nan"), "", "must be a finite number (got nan). Ask for a value that exists."),
        (
            1.0,
            "99999f",
            "must be followed by a number's format, such as :.0f (got '99999f'). Use .0f, .1f, .2f, ,.0f, +.1f or .0%.",
        ),
        (1.0, "{1}", "must be followed by a number's format, such as :.0f (got '{1}'). Use .0f, .1f, .2f, ,.0f, +.1f or .0%."),
    ],
)
def test_what_is_no_number_is_not_written(value: object, form: str, message: str) -> None:
    with pytest.raises(ExpressionError) as error:
        told(value, form)
    assert str(error.value) == message


def test_holes_are_found_with_their_formats() -> None:
    assert holes("a {b[1:2]:.0f} {{c}} {d('}')}") == [(2, 14, "b[1:2]", ".0f"), (21, 29, "d('}')", "")]
    assert fill("a {b:.1f} {{c}}", lambda expression, form, at: f"<{expression}|{form}|{at}>") == "a <b|.1f|2> {c}"


@settings(max_examples=200, deadline=None)
@given(st.text(st.sampled_from("{}[]():'\"ab.1f \n"), max_size=40))
def test_any_text_with_braces_is_filled_or_refused(text: str) -> None:
    filled = ""
    with contextlib.suppress(HoleError):
        filled = fill(text, lambda expression, form, at: "")
    assert filled.count("{") <= text.count("{{")


# ---- what is refused although a name for it is at hand

@dataclasses.dataclass(frozen=True)
class Stranger:
    """A record that is not the simulator's."""

    secret: str = "kept"


def test_names_with_an_underscore_are_refused_even_where_they_are_known() -> None:
    names = {"_kept": 1.0, "kept_": 2.0}
    assert evaluate("kept_", names) == 2.0
    for text in ("_kept", "[_kept for _kept in (1, 2)]", "max(1, 2, _kept=3)"):
        with pytest.raises(ExpressionError, match="A name begins with a letter"):
            evaluate(text, {**names, "max": max})


def test_attributes_are_read_of_our_own_records_only() -> None:
    assert evaluate("s.title", {"s": sim.Scene(title="ours")}) == "ours"
    for stranger in (Stranger(), Stranger):
        with pytest.raises(ExpressionError, match="Write it without the point"):
            evaluate("x.secret", {"x": stranger})
