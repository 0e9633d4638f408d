"""What a room answered, without persons: a page that needs nothing else, and a table."""

from __future__ import annotations

import csv
import io
import json
import time
from collections.abc import Iterable, Mapping
from html import escape
from typing import Any

from graspwave.apps import notices
from graspwave.apps.classroom.answers import SURE, judge, share_right, tally
from graspwave.apps.look.tokens import css

__all__ = ["SURE_WORDS", "Asked", "asked", "report_csv", "report_html", "safe_cell"]

SURE_WORDS = ("guessing", "fairly sure", "very sure")

Asked = dict[str, Any]
"""One question's answers: number, title, step, and for each round n, counts, right (share), sure (by `SURE_WORDS`)."""


def asked(lesson: Mapping[str, Any], answers: Iterable[Mapping[str, Any]]) -> list[Asked]:
    """Every question of the lesson with how its answers add up, before and after the talk.

    Parameters
    ----------
    lesson : mapping
        A compiled lesson.
    answers : iterable of mapping
        step, round, answer (JSON text), sure.
    """
    by_place: dict[tuple[int, int], list[tuple[dict[str, Any], int | None]]] = {}
    for row in answers:
        by_place.setdefault((row["step"], row["round"]), []).append((json.loads(row["answer"]), row["sure"]))
    found = []
    for at, step in enumerate(lesson["steps"]):
        if not step.get("question"):
            continue
        rounds = {}
        for turn in (1, 2):
            given = by_place.get((at, turn), [])
            sure: dict[str, dict[str, int]] = {word: {"n": 0, "right": 0} for word in SURE_WORDS}
            for answer, level in given:
                if level in SURE:
                    sure[SURE_WORDS[level]]["n"] += 1
                    sure[SURE_WORDS[level]]["right"] += judge(step, answer) is True
            plain = [answer for answer, _ in given]
            counts = tally(step["question"], plain)
            rounds[turn] = {"n": len(given), "counts": counts, "right": share_right(step, plain), "sure": sure}
        found.append({"number": step["number"], "title": step["title"], "step": step, "rounds": rounds})
    return found


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
        slug, opened (s since 1970), joined.
    answers, words
        As `Store.all_answers` gives them.
    """
    questions = asked(lesson, answers)
    parts = [_question_html(entry) for entry in questions] or ["<p>Nothing was asked in this lesson.</p>"]
    said = "".join(f"<li>{escape(w['text'])}</li>" for w in words)
    own = f"<h2>Words that were shown</h2><ul>{said}</ul>" if said else ""
    day = time.strftime("%d %B %Y, %H:%M UTC", time.gmtime(room["opened"]))
    return f"""<!doctype html>
<html lang="en"><head><meta charset="utf-8"><meta name="viewport" content="width=device-width, initial-scale=1">
<meta http-equiv="Content-Security-Policy" content="default-src 'none'; style-src 'unsafe-inline'">
<title>{escape(lesson["title"])} - answers of a room</title>
<style>{css()}{_STYLE}</style></head><body>
<p class="caution">{notices.caution_html()}</p>
<h1>{escape(lesson["title"])}</h1>
<p>Answers of a room opened on {day}. {room["joined"]} joined. No names are kept, and none stand here.</p>
<p>The lesson's people, hands and scenes are invented. What is right was computed by the model, not measured on a person.</p>
{"".join(parts)}{own}
<p class="caution">{notices.caution_html()}</p>
</body></html>
"""


def _question_html(entry: Asked) -> str:
    first, second = entry["rounds"][1], entry["rounds"][2]
    choices = {choice["key"]: choice["html"] for choice in entry["step"]["question"].get("choices") or ()}
    most = max([1, *(max(one, two) for _, one, two, _ in _rows(entry))])
    rows = "".join(
        f"<tr><th scope=\"row\">{escape(name)}{' (right)' if right else ''} {_says(choices, name)}</th>"
        f"{_bar(one, most)}{_bar(two, most)}</tr>"
        for name, one, two, right in _rows(entry)
    )
    sure = "".join(
        f'<tr><th scope="row">{word}</th>{_sure_cell(first, word)}{_sure_cell(second, word)}</tr>' for word in SURE_WORDS
    )
    shares = "".join(
        f"<td>{_percent(turn['right']) or 'not judged'}</td>" for turn in (first, second))
    return f"""<section><h2>{entry["number"]}. {escape(entry["title"])}</h2>
<div class="asks">{entry["step"]["question"]["html"]}</div>
<table><thead><tr><th scope="col">Answer</th><th scope="col">Before the talk, n = {first["n"]}</th>
<th scope="col">After it, n = {second["n"]}</th></tr></thead>
<tbody>{rows}<tr class="sum"><th scope="row">Share right</th>{shares}</tr></tbody></table>
<table><thead><tr><th scope="col">How sure</th><th scope="col">Before the talk</th><th scope="col">After it</th></tr></thead>
<tbody>{sure}</tbody></table></section>"""


def _sure_cell(turn: Mapping[str, Any], word: str) -> str:
    level = turn["sure"][word]
    right = f", {level['right']} of them right" if level["n"] and turn["right"] is not None else ""
    return f"<td>{level['n']}{right}</td>"


def _says(choices: Mapping[str, str], name: str) -> str:
    # the choice's words are the lesson's, made safe when it was compiled
    return ", ".join(choices[key] for key in name.split(", ") if key in choices)


def _bar(count: int, most: int) -> str:
    return f'<td><span class="bar" style="width:{100 * count / most * 0.7:.0f}%"></span> {count}</td>'


def safe_cell(value: object) -> object:
    """A cell that no table program takes for a formula."""
    if not isinstance(value, str):
        return value
    flat = " ".join(value.split())
    return f"'{flat}" if flat[:1] in ("=", "+", "-", "@") else flat


def report_csv(lesson: Mapping[str, Any], answers: Iterable[Mapping[str, Any]]) -> str:
    """The report as a table: one row for each answer of each question and round, the caution first."""
    text = io.StringIO()
    text.write(f"# {notices.caution_text()}\n")
    text.write("# People, hands and scenes are invented; what is right was computed by a model.\n")
    writer = csv.writer(text, lineterminator="\n")
    writer.writerow(["lesson", "question", "title", "round", "answer", "count", "n", "is_right", "share_right", *(
        f"{word.replace(' ', '_')}" for word in SURE_WORDS)])
    for entry in asked(lesson, answers):
        for turn in (1, 2):
            result = entry["rounds"][turn]
            share = "" if result["right"] is None else f"{result['right']:.3f}"
            sure = [result["sure"][word]["n"] for word in SURE_WORDS]
            for name, one, two, right in _rows(entry):
                cells = [lesson["slug"], entry["number"], entry["title"], turn, name, (one, two)[turn - 1], result["n"],
                         "yes" if right else "no", share, *sure]
                writer.writerow([safe_cell(cell) for cell in cells])
    return text.getvalue()


_STYLE = """
body{font:16px/1.42 system-ui,sans-serif;max-width:52rem;margin:0 auto;padding:1rem;
color:var(--ink);background:var(--bg)}
h1{font-size:28px;line-height:1.15}h2{font-size:20px;line-height:1.2;margin-top:2rem}
table{border-collapse:collapse;width:100%;margin:.5rem 0}
th,td{border-bottom:1px solid var(--line);padding:.35rem .5rem;text-align:left;vertical-align:top}
tbody th{font-weight:450;width:44%}th p{display:inline}.sum th,.sum td{font-weight:700}
.bar{display:inline-block;height:.8em;background:var(--ink2);vertical-align:-1px}
.caution{border:1.5px solid var(--edge);padding:.5rem}
section{break-inside:avoid}
"""
