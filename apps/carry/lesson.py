"""A lesson as one file: its text, its pictures, and for every bench what the hand does at each step of each slider."""

from __future__ import annotations

import json
import math
from collections.abc import Mapping
from html import escape
from typing import Any

from graspwave.apps.carry.packed import packed
from graspwave.apps.files.one_file import one_file
from graspwave.apps.look.plain import plain_page, step_sheets
from graspwave.apps.told.live_hand import AMPLITUDE, live
from graspwave.apps.web.source import address, web_text

__all__ = ["MOST_BYTES", "bench_values", "carried", "lesson_file"]

MOST_BYTES = 5_000_000
"""A carried lesson is no larger: it goes by mail and onto a memory stick."""


def bench_values(setting: Mapping[str, Any]) -> list[Any]:
    """Every value that a bench's control can give, in its own steps; a wrist that can be let free ends with None.

    Parameters
    ----------
    setting : mapping
        As `teach.bench.setting_of` gives it.
    """
    if "choices" in setting:
        return [value for value, _ in setting["choices"]]
    low, high, step = (float(setting[key]) for key in ("low", "high", "step"))
    # a slider counts its steps in decimals
    values: list[Any] = [float(f"{low + i * step:.10g}") for i in range(math.floor((high - low) / step + 1e-9) + 1)]
    return [*values, None] if "free_words" in setting else values


def carried(lesson: Mapping[str, Any], home: str = "") -> dict[str, Any]:
    """All that a carried lesson holds, as its page reads it.

    Parameters
    ----------
    lesson : mapping
        As `teach.compiled.compile_lesson` gives it; it is not changed.
    home : str
        Address of the list of lessons beside the file; empty where there is none.

    Returns
    -------
    dict
        ``lesson``; ``benches``: by step and path, the number of the picture of each value; ``pictures``; ``home``.
    """
    pool: dict[str, int] = {}
    pictures: list[Any] = []

    def number_of(picture: dict[str, Any]) -> int:
        text = json.dumps(packed(picture), sort_keys=True)
        if text not in pool:
            pool[text] = len(pictures)
            pictures.append(json.loads(text))
        return pool[text]

    steps, benches = [], {}
    for at, step in enumerate(lesson["steps"]):
        bench = step["bench"]
        if bench:
            free = [setting for setting in bench["settings"] if setting["path"] != AMPLITUDE]
            bench = {**bench, "single": len(free) > 1}
            benches[str(at)] = {
                setting["path"]: [number_of(live(bench["scene"], {setting["path"]: value})) for value in bench_values(setting)]
                for setting in free
            }
        steps.append({**step, "bench": bench})
    return {"lesson": packed({**lesson, "steps": steps}), "benches": benches, "pictures": pictures, "home": home}


def lesson_file(lesson: Mapping[str, Any], *, home: str = "", reports: bool = False) -> str:
    """A lesson as one HTML file.

    Parameters
    ----------
    lesson : mapping
        A compiled lesson.
    home : str
        As in `carried`.
    reports : bool
        Whether it tells a course's player what was done (SCORM 1.2).

    Raises
    ------
    ValueError
        The file would be larger than `MOST_BYTES`.
    """
    body = f"""
<div class="alone" id="app" data-slug="{escape(str(lesson['slug']))}"><p class="waiting">The lesson is being opened.</p>
<noscript><p>This page needs scripts to be allowed.</p></noscript></div>"""
    script = address(f"web/{'reported.js' if reports else 'alone.js'}")
    html = plain_page("teach", str(lesson["title"]), body, scripts=[script], css=step_sheets("web/person.css"), bare=True)
    given = {"web/supply.js": web_text("web/carried.js")}
    text = one_file(html, given, {"carried": carried(lesson, home)})
    if (size := len(text.encode())) > MOST_BYTES:
        raise ValueError(f"'{lesson['slug']}' must be at most {MOST_BYTES / 1e6:g} MB as a file (got {size / 1e6:.1f} MB)")
    return text
