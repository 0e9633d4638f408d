"""Two classes beside each other: the tables of two rooms, as `report.report_csv` writes them, drawn as one page."""

from __future__ import annotations

import csv
import io
from dataclasses import dataclass, field
from html import escape
from pathlib import Path

from graspwave import simulator as sim
from graspwave.apps import notices
from graspwave.apps.classroom.learned import normalised_gain
from graspwave.apps.classroom.report import COLUMNS, REPORT_STYLE
from graspwave.apps.web.tokens import css

__all__ = ["Class", "compare_html", "compare_text", "read_class"]

_NEEDED = ("lesson", "question", "title", "kind", "round", "answer", "count", "n", "share_right")


@dataclass
class Result:
    """One question: how many of those who answered twice were right before and after."""

    title: str
    n: int = 0
    before: float | None = None
    after: float | None = None

    @property
    def gain(self) -> float | None:
        """Normalised gain."""
        return None if self.before is None or self.after is None else normalised_gain(self.before, self.after)


@dataclass
class Class:
    """What a room's table says: where it is from, and its questions by number."""

    name: str
    date: str
    lesson: str
    questions: dict[int, Result] = field(default_factory=dict)


def read_class(path: Path) -> Class:
    """One room's table.

    Raises
    ------
    SceneError
        It is no table of a room; the text says why.
    """
    try:
        text = path.read_text("utf-8-sig")
    except UnicodeDecodeError:
        raise sim.SceneError("file", "a room's table of answers", str(path), "save the answers as a table (CSV)") from None
    lines = [line for line in text.splitlines(True) if not line.startswith("#")]
    rows = list(csv.DictReader(io.StringIO("".join(lines))))
    if not rows or not set(_NEEDED) <= set(rows[0]):
        raise sim.SceneError("file", f"a room's table with the columns {', '.join(COLUMNS[:7])}, ...", str(path),
                             "save the answers as a table (CSV)")
    found = Class(path.stem, rows[0].get("date") or "", rows[0]["lesson"])
    for at, row in enumerate(rows, 1):
        if row["kind"] != "answer" or row["share_right"] == "":
            continue
        try:
            result = found.questions.setdefault(int(row["question"]), Result(row["title"]))
            result.n = max(result.n, int(row["n"]))
            share = float(row["share_right"])
        except ValueError:
            raise sim.SceneError("row", "numbers in question, n and share_right", at, f"look at row {at} of {path}") from None
        if not 0.0 <= share <= 1.0:
            raise sim.SceneError("share_right", "0 to 1", row["share_right"], f"look at row {at} of {path}")
        if row["round"] == "1":
            result.before = share
        else:
            result.after = share
    return found


def _pairs(one: Class, two: Class) -> list[tuple[int, str, Result | None, Result | None]]:
    if one.lesson != two.lesson:
        raise sim.SceneError("lesson", f"the same in both tables, {one.lesson}", two.lesson, "compare rooms of one lesson")
    return [
        (number, (one.questions.get(number) or two.questions[number]).title, one.questions.get(number), two.questions.get(number))
        for number in sorted({*one.questions, *two.questions})
    ]


def _share(value: float | None) -> str:
    return "-" if value is None else f"{100 * value:.0f} %"


def compare_text(one: Class, two: Class) -> list[str]:
    """Lines for a terminal: question, and of each class how many, before, after and gain.

    Raises
    ------
    SceneError
        The tables are of two lessons.
    """
    lines = [f"{one.lesson}: {one.name} ({one.date or 'no date'}) beside {two.name} ({two.date or 'no date'})"]
    for number, title, left, right in _pairs(one, two):
        lines.append(f"{number}. {title}")
        for name, result in ((one.name, left), (two.name, right)):
            if result is None:
                lines.append(f"   {name}: not asked")
                continue
            gain = "-" if result.gain is None else f"{result.gain:.2f}"
            lines.append(f"   {name}: n {result.n}, right before {_share(result.before)}, after {_share(result.after)}, "
                         f"normalised gain {gain}")
    return lines


def compare_html(one: Class, two: Class) -> str:
    """Both classes as one page that asks for nothing else: two bars each, before and after, on one scale.

    Raises
    ------
    SceneError
        The tables are of two lessons.
    """
    parts = "".join(
        f"<section><h2>{number}. {escape(title)}</h2><table><thead><tr><th scope=\"col\">Right</th>"
        f"<th scope=\"col\">{escape(one.name)}{_n(left)}</th><th scope=\"col\">{escape(two.name)}{_n(right)}</th></tr></thead>"
        "<tbody>"
        f"{_row('before the talk', *(None if side is None else side.before for side in (left, right)))}"
        f"{_row('after it', *(None if side is None else side.after for side in (left, right)))}"
        f"<tr class=\"sum\"><th scope=\"row\">Normalised gain</th>{_gain(left)}{_gain(right)}</tr></tbody></table></section>"
        for number, title, left, right in _pairs(one, two)
    )
    return f"""<!doctype html>
<html lang="en"><head><meta charset="utf-8"><meta name="viewport" content="width=device-width, initial-scale=1">
<meta http-equiv="Content-Security-Policy" content="default-src 'none'; style-src 'unsafe-inline'">
<title>Two classes beside each other</title><style>{css()}{REPORT_STYLE}</style></head><body>
<p class="caution">{notices.caution_html()}</p>
<h1>Two classes beside each other</h1>
<p>Lesson {escape(one.lesson)}: {escape(one.name)}, {escape(one.date or "no date")}, and {escape(two.name)},
{escape(two.date or "no date")}. Counted are those who answered twice. Small classes differ by chance: with twenty people a share
of right answers moves by some twenty per cent up or down by chance alone.</p>
<p>The lesson's people, hands and scenes are invented. What is right was computed by the model, not measured on a person.</p>
{parts or "<p>No question was answered in both.</p>"}
<p class="caution">{notices.caution_html()}</p>
</body></html>
"""


def _n(result: Result | None) -> str:
    return ", not asked" if result is None else f", n = {result.n}"


def _row(name: str, *shares: float | None) -> str:
    cells = "".join(
        "<td>-</td>" if share is None else f'<td><span class="bar" style="width:{70 * share:.0f}%"></span> {_share(share)}</td>'
        for share in shares)
    return f'<tr><th scope="row">{name}</th>{cells}</tr>'


def _gain(result: Result | None) -> str:
    return f"<td>{'-' if result is None or result.gain is None else f'{result.gain:.2f}'}</td>"
