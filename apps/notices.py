"""The words of caution, kept in one place so that every page and sheet says the same.

The list is a neutral summary for teaching, not advice; professional lists differ. It follows the safety part of
Houghton, Nussbaum and Hoens, Physiotherapy Canada 2010;62(5), recalled with middling certainty (mark "memory mid").
"""

from __future__ import annotations

from dataclasses import dataclass
from html import escape

__all__ = [
    "CAUTIONS", "CAUTIONS_INTRO", "CAUTIONS_SOURCE", "CAUTION_FIRST", "CAUTION_REST", "CautionGroup", "caution_html",
    "caution_text", "cautions_html", "cautions_text",
]

CAUTION_FIRST = "A teaching model, not for setting treatment."
CAUTION_REST = "Follow the stimulator's own instructions, local rules and a licensed clinician."

CAUTIONS_INTRO = (
    "The figures on these pages come from a model of an invented arm. They say nothing about a person. "
    "The list below is a summary for teaching; professional lists differ, and the local one decides."
)
CAUTIONS_SOURCE = (
    "After Houghton, Nussbaum and Hoens, Physiotherapy Canada 2010;62(5), special issue (PMC3031347). "
    "Recalled, middling certainty; check against the source."
)


@dataclass(frozen=True)
class CautionGroup:
    """One group of cautions: a title, its items, and how well the wording is known (`mark`)."""

    title: str
    items: tuple[str, ...]
    mark: str = "memory mid"


CAUTIONS: tuple[CautionGroup, ...] = (
    CautionGroup(
        "Not without medical clearance",
        (
            "an implanted electronic device: pacemaker, defibrillator, neurostimulator or pump",
            "over or near active cancer",
            "active deep vein thrombosis",
            "active bleeding",
            "over an infection",
            "over recently irradiated tissue",
            "over the trunk in pregnancy",
            "poor circulation in the limb",
            "where a contraction could disturb a repair, a fracture or recent surgery",
        ),
    ),
    CautionGroup(
        "Never",
        (
            "over the front of the neck",
            "across the head, the eyes or the mouth",
            "across the chest or the heart",
            "over the genitals",
            "over broken or inflamed skin",
        ),
    ),
    CautionGroup(
        "With care",
        (
            "poor skin sensation",
            "impaired understanding or communication",
            "epilepsy",
            "heart failure or arrhythmia",
            "a regenerating nerve",
            "skin disease",
            "a recent tendon or muscle injury",
            "severe spasticity",
            "allergy to the pad gel",
            "not while driving, using machines, bathing or sleeping",
        ),
    ),
    CautionGroup(
        "Stop and ask",
        ("pain", "burning", "redness that stays", "a rash", "dizziness"),
    ),
)


def caution_text() -> str:
    """Return the caution line as plain text."""
    return f"{CAUTION_FIRST} {CAUTION_REST}"


def caution_html() -> str:
    """Return the caution line as HTML, its first sentence bold."""
    return f"<strong>{escape(CAUTION_FIRST, quote=False)}</strong> {escape(CAUTION_REST, quote=False)}"


def cautions_text() -> str:
    """Return the whole list as plain text, one item a line."""
    lines = [CAUTIONS_INTRO]
    for group in CAUTIONS:
        lines += ["", group.title, *(f"- {item}" for item in group.items)]
    return "\n".join([*lines, "", CAUTIONS_SOURCE])


def cautions_html(level: int = 3) -> str:
    """Return the whole list as HTML, group titles as headings of `level` (2 to 6)."""
    if not 2 <= level <= 6:
        raise ValueError(f"'level' must be between 2 and 6 (got {level}). Use the level under the nearest heading.")
    parts = [f"<p>{escape(CAUTIONS_INTRO, quote=False)}</p>"]
    for group in CAUTIONS:
        items = "".join(f"<li>{escape(item, quote=False)}</li>" for item in group.items)
        parts.append(f'<section data-mark="{group.mark}"><h{level}>{group.title}</h{level}><ul>{items}</ul></section>')
    parts.append(f'<p class="source">{escape(CAUTIONS_SOURCE, quote=False)}</p>')
    return "".join(parts)
