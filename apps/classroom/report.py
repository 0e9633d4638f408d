"""What a room answered, without persons: a page that needs nothing else, and a table."""

from __future__ import annotations

import csv
import io
import re
import time
from collections.abc import Iterable, Mapping
from html import escape, unescape
from typing import Any

from graspwave.apps import notices
from graspwave.apps.classroom.learned import SURE_WORDS, Asked, asked
from graspwave.apps.web.tokens import css

__all__ = ["COLUMNS", "REPORT_STYLE", "report_csv", "report_html", "safe_cell"]

_PAIRS = {(False, True): "wrong, then right", (True, True): "right both times", (True, False): "right, then wrong",
          (False, False): "wrong both times"}
"""What came of those who answered twice, in the order in which it is told."""

COLUMNS = (
    "date", "lesson", "code", "question", "title", "kind", "round", "answer", "words", "count", "n", "n_all", "is_right",
    "share_right", "gain", *(f"{word.replace(' ', '_')}{part}" for word in SURE_WORDS for part in ("", "_right")),
)
"""Of the table. ``kind`` is answer (one row a choice and round), pairs (what came of those who answered twice) or said (words
that were shown). ``n`` are those who answered twice, or all of the first round where nobody did; ``n_all`` whoever answered."""


def _rows(entry: Asked) -> list[tuple[str, int, int, bool]]:
    """Rows of one question: what was answered, how many before and after, whether it is right."""
    question, step = entry["step"]["question"], entry["step"]
    first, second = entry["rounds"][1]["counts"], entry["rounds"][2]["counts"]
    kind = question["kind"]
    if kind in ("one", "several"):
        right = (step.get("answer") or {}).get("right") or ()
        keys = {right} if isinstance(right, str) else set(right)
        names = [choice["key"] for choice in question["choices"]]
        return [(name, first[name], second[name], name in keys) for name in names]
    if kind == "order":
        right = ",".join((step.get("answer") or {}).get("right") or ())
        return [(order.replace(",", ", "), first.get(order, 0), second.get(order, 0), order == right)
                for order in dict.fromkeys([*first, *second])]
    if kind == "number":
        right = (step.get("answer") or {}).get("right") or {}
        value = right.get("value")
        counts: dict[tuple[float, float], list[int]] = {}
        for turn, bins in ((0, first["bins"]), (1, second["bins"])):
            for low, high, count in bins:
                counts.setdefault((low, high), [0, 0])[turn] = count
        unit = f" {question['unit']}" if question.get("unit") else ""
        return [(f"{low:g} to {high:g}{unit}", one, two, value is not None and low <= value < high)
                for (low, high), (one, two) in sorted(counts.items())]
    return [("places marked", entry["rounds"][1]["n"], entry["rounds"][2]["n"], False)]


def _percent(share: float | None) -> str:
    return "" if share is None else f"{100 * share:.0f} %"


def report_html(
    lesson: Mapping[str, Any], room: Mapping[str, Any], answers: Iterable[Mapping[str, Any]], words: Iterable[Mapping[str, Any]],
) -> str:
    """The report as one page that asks for nothing else.

    Parameters
    ----------
    lesson : mapping
        A compiled lesson.
    room : mapping
        code, slug, opened (s since 1970), joined.
    answers, words
        As `Store.all_answers` gives them.
    """
    questions = asked(lesson, answers)
    # one scale for the whole page: equal counts have equal bars
    most = max([1, *(max(one, two) for entry in questions for _, one, two, _ in _rows(entry))])
    parts = [_question_html(entry, most) for entry in questions] or ["<p>Nothing was answered in this room.</p>"]
    said = "".join(f"<li>{escape(w['text'])}</li>" for w in words)
    own = f"<h2>Words that were shown</h2><ul>{said}</ul>" if said else ""
    day = time.strftime("%d %B %Y, %H:%M UTC", time.gmtime(room["opened"]))
    return f"""<!doctype html>
<html lang="en"><head><meta charset="utf-8"><meta name="viewport" content="width=device-width, initial-scale=1">
<meta http-equiv="Content-Security-Policy" content="default-src 'none'; style-src 'unsafe-inline'">
<title>{escape(lesson["title"])} - answers of a room</title>
<style>{css()}{REPORT_STYLE}</style></head><body>
<p class="caution">{notices.caution_html()}</p>
<h1>{escape(lesson["title"])}</h1>
<p>Answers of the room {escape(str(room["code"]).replace("-", " "))}, opened on {day}. {room["joined"]} joined. No names are kept,
and none stand here.</p>
<p>Where a question was asked twice, only those are counted who answered twice: before and after are the same people.</p>
<p>The lesson's people, hands and scenes are invented. What is right was computed by the model, not measured on a person.</p>
{"".join(parts)}{own}
<p class="caution">{notices.caution_html()}</p>
</body></html>
"""


def _question_html(entry: Asked, most: int) -> str:
    first, second = entry["rounds"][1], entry["rounds"][2]
    choices = {choice["key"]: choice["html"] for choice in entry["step"]["question"].get("choices") or ()}
    rows = "".join(
        f"<tr><th scope=\"row\">{escape(name)}{' (right)' if right else ''} {_says(choices, name)}</th>"
        f"{_bar(one, most)}{_bar(two, most)}</tr>"
        for name, one, two, right in _rows(entry)
    )
    sure = "".join(
        f'<tr><th scope="row">{word}</th>{_sure_cell(first, word)}{_sure_cell(second, word)}</tr>' for word in SURE_WORDS
    )
    shares = "".join(
        f"<td>{_percent(turn['right']) or ('not judged' if turn['n'] else 'not asked')}</td>" for turn in (first, second))
    return f"""<section><h2>{entry["number"]}. {escape(entry["title"])}</h2>
<div class="asks">{entry["step"]["question"]["html"]}</div>
<table><thead><tr><th scope="col">Answer</th><th scope="col">Before the talk, n = {first["n"]}</th>
<th scope="col">After it, n = {second["n"]}</th></tr></thead>
<tbody>{rows}<tr class="sum"><th scope="row">Share right</th>{shares}</tr></tbody></table>
{_pairs_html(entry)}
<table><thead><tr><th scope="col">How sure</th><th scope="col">Before the talk</th><th scope="col">After it</th></tr></thead>
<tbody>{sure}</tbody></table></section>"""


def _pairs_html(entry: Asked) -> str:
    once = entry["all"][1] + entry["all"][2] - 2 * entry["twice"]
    left = f"<p>{once} more answered once only, and are not counted here.</p>" if entry["twice"] and once else ""
    if entry["pairs"] is None:
        return left
    parts = ", ".join(f"{count} {_PAIRS[pair]}" for pair in _PAIRS if (count := entry["pairs"][pair]))
    gain = entry["gain"]
    told = "all were right before" if gain is None else (
        f"normalised gain {gain:.2f}: {_percent(abs(gain))} of what could be {'won was won' if gain >= 0 else 'won was lost'}")
    return f"<p>Of {entry['twice']} who answered twice: {parts}; {told}.</p>{left}"


def _sure_cell(turn: Mapping[str, Any], word: str) -> str:
    level = turn["sure"][word]
    right = f", {level['right']} of them right" if level["n"] and turn["right"] is not None else ""
    return f"<td>{level['n']}{right}</td>"


def _says(choices: Mapping[str, str], name: str) -> str:
    # the choice's words are the lesson's, made safe when it was compiled
    return ", ".join(choices[key] for key in name.split(", ") if key in choices)


def _bar(count: int, most: int) -> str:
    return f'<td><span class="bar" style="width:{100 * count / most * 0.7:.2f}%"></span> {count}</td>'


def safe_cell(value: object) -> object:
    """A cell that no table program takes for a formula."""
    if not isinstance(value, str):
        return value
    flat = " ".join(value.split())
    return f"'{flat}" if flat[:1] in ("=", "+", "-", "@") else flat


def report_csv(
    lesson: Mapping[str, Any], room: Mapping[str, Any], answers: Iterable[Mapping[str, Any]], words: Iterable[Mapping[str, Any]],
) -> str:
    """The report as a table with `COLUMNS`, the caution first; the same arguments as `report_html`."""
    text = io.StringIO()
    text.write(f"# {notices.caution_text()}\n")
    text.write("# People, hands and scenes are invented; what is right was computed by a model.\n")
    writer = csv.writer(text, lineterminator="\n")
    writer.writerow(COLUMNS)
    head = [time.strftime("%Y-%m-%d", time.gmtime(room["opened"])), lesson["slug"], room["code"]]
    for entry in asked(lesson, answers):
        place = [*head, entry["number"], entry["title"]]
        choices = {choice["key"]: _plain(choice["html"]) for choice in entry["step"]["question"].get("choices") or ()}
        gain = "" if entry["gain"] is None else round(entry["gain"], 3)  # a number, which may be below zero
        for turn in (1, 2):
            result = entry["rounds"][turn]
            share = "" if result["right"] is None else f"{result['right']:.3f}"
            sure = [result["sure"][word][part] for word in SURE_WORDS for part in ("n", "right")]
            for name, one, two, right in _rows(entry):
                says = ", then ".join(choices[key] for key in name.split(", ") if key in choices)
                _write(writer, [*place, "answer", turn, name, says, (one, two)[turn - 1], result["n"], entry["all"][turn],
                                "yes" if right else "no", share, gain, *sure])
        for pair, name in _PAIRS.items() if entry["pairs"] else ():
            _write(writer, [*place, "pairs", "", name, "", entry["pairs"][pair], entry["twice"], entry["twice"], "", "", gain])
    for said in words:
        step = lesson["steps"][said["step"]]
        _write(writer, [*head, step["number"], step["title"], "said", "", "", said["text"]])
    return text.getvalue()


def _write(writer: Any, cells: list[object]) -> None:
    filled = [*cells, *[""] * (len(COLUMNS) - len(cells))]
    writer.writerow([safe_cell(cell) for cell in filled])


def _plain(html: str) -> str:
    """A choice's words without marks."""
    return " ".join(unescape(re.sub(r"<[^>]+>", " ", html)).split())


REPORT_STYLE = """
body{font:16px/1.42 system-ui,sans-serif;max-width:52rem;margin:0 auto;padding:1rem;
color:var(--ink);background:var(--bg)}
h1{font-size:28px;line-height:1.15}h2{font-size:20px;line-height:1.2;margin-top:2rem}
table{border-collapse:collapse;table-layout:fixed;width:100%;margin:.5rem 0}
th,td{border-bottom:1px solid var(--line);padding:.35rem .5rem;text-align:left;vertical-align:top}
thead th:first-child{width:44%}tbody th{font-weight:450}th p{display:inline}.sum th,.sum td{font-weight:700}
.bar{display:inline-block;height:.8em;background:var(--ink2);vertical-align:-1px}
.caution{border:1.5px solid var(--edge);padding:.5rem}
section{break-inside:avoid}
"""
