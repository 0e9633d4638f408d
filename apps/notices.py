"""The words of caution, kept in one place so that every page and sheet says the same.

The list is a neutral summary for teaching, not advice; professional lists differ. It follows the safety part of
Houghton, Nussbaum and Hoens, Physiotherapy Canada 2010;62(5), recalled with middling certainty (mark "memory mid").
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from html import escape

__all__ = [
    "CAUTIONS", "CAUTIONS_INTRO", "CAUTIONS_SOURCE", "CAUTION_FIRST", "CAUTION_REST", "PLAIN", "CautionGroup", "Plain",
    "caution_html", "caution_text", "cautions_html", "cautions_text", "plain_caution_html", "plain_cautions_html",
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
    """One group of cautions: a title, its items, how well the wording is known (`mark`), and both in plain words.

    `plain_title` and `plain` are keyed by language; `plain` has one sentence an item, in the same order.
    """

    title: str
    items: tuple[str, ...]
    mark: str = "memory mid"
    plain_title: Mapping[str, str] = field(default_factory=dict)
    plain: Mapping[str, tuple[str, ...]] = field(default_factory=dict)


@dataclass(frozen=True)
class Plain:
    """The caution in plain words of one language: the line, the words before the list, and a short list for a sheet."""

    first: str
    rest: str
    intro: tuple[str, ...]
    short: tuple[str, ...]


PLAIN: Mapping[str, Plain] = {
    "en": Plain(
        "This is for learning.",
        "It does not tell you what to set. Ask your therapist.",
        ("The hand in the pictures is drawn. It is not your hand.", "This list is short. Your clinic may have a longer one."),
        (
            "Do you have a pacemaker or other implant? Do not use this unless your doctor says so.",
            "Ask first if you are pregnant.",
            "Ask first if you have cancer, a blood clot or a bleed.",
            "Ask first if you have fits, a weak heart or a weak sense of touch.",
            "Ask first if a bone, joint or tendon in the arm has not healed.",
            "Do not put pads on sore or broken skin.",
            "Never put pads on the neck, head, chest or groin.",
            "Do not use it when you drive, bathe or sleep.",
            "Keep it away from children.",
        ),
    ),
    "de": Plain(
        "Dies ist zum Lernen da.",
        "Es sagt Ihnen nicht, was Sie einstellen sollen. Fragen Sie in Ihrer Praxis.",
        ("Die Hand im Bild ist gezeichnet. Sie ist nicht Ihre Hand.", "Diese Liste ist kurz. Ihre Praxis hat wohl noch mehr."),
        (
            "Haben Sie ein Gerät im Körper, etwa am Herzen? Dann fragen Sie erst Ihren Arzt.",
            "Fragen Sie erst, wenn Sie schwanger sind.",
            "Fragen Sie erst bei Krebs, bei einem Blutgerinnsel oder wenn Sie bluten.",
            "Fragen Sie erst bei Anfällen, einem schwachen Herzen oder wenn Sie wenig spüren.",
            "Fragen Sie erst, wenn am Arm ein Knochen, ein Gelenk oder eine Sehne noch heilt.",
            "Kleben Sie nichts auf wunde oder rote Haut.",
            "Kleben Sie nie etwas auf Hals, Kopf oder Brust oder in den Schritt.",
            "Nicht beim Fahren, im Bad oder im Schlaf benutzen.",
            "Halten Sie es von Kindern fern.",
        ),
    ),
}


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
        plain_title={"en": "Ask your doctor first", "de": "Fragen Sie erst Ihren Arzt"},
        plain={
            "en": (
                "You have a device in your body, such as a pacemaker or a pump.",
                "You have cancer near the spot.",
                "You have a blood clot.",
                "You bleed there now.",
                "The spot is sore and hot from germs.",
                "The spot had rays for cancer not long ago.",
                "You are pregnant.",
                "Blood does not flow well in your arm.",
                "A break, a cut or a repair there still has to heal.",
            ),
            "de": (
                "Sie haben ein Gerät im Körper, etwa am Herzen oder eine Pumpe.",
                "Sie haben dort in der Nähe Krebs.",
                "Sie haben ein Blutgerinnsel in einer Ader.",
                "Sie bluten dort gerade.",
                "Die Stelle ist heiß und entzündet.",
                "Die Stelle wurde vor kurzem gegen Krebs bestrahlt.",
                "Sie sind schwanger.",
                "Das Blut fließt schlecht in Ihrem Arm.",
                "Ein Bruch, ein Schnitt oder eine Naht muss dort noch heilen.",
            ),
        },
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
        plain_title={"en": "Never put pads here", "de": "Nie hier kleben"},
        plain={
            "en": (
                "Never on the front of the neck.",
                "Never on the head, the eyes or the mouth.",
                "Never on the chest or the heart.",
                "Never on the groin.",
                "Never on skin that is sore or broken.",
            ),
            "de": (
                "Nie vorn am Hals.",
                "Nie am Kopf, an den Augen oder am Mund.",
                "Nie auf der Brust oder am Herzen.",
                "Nie im Schritt.",
                "Nie auf wunder oder roter Haut.",
            ),
        },
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
        plain_title={"en": "Take care and ask", "de": "Mit Vorsicht und nach Rat"},
        plain={
            "en": (
                "You feel little on your skin.",
                "It is hard for you to grasp or to say things.",
                "You have fits.",
                "Your heart is weak or skips beats.",
                "A nerve in the arm still grows back.",
                "You have a skin disease.",
                "You hurt a muscle or a tendon not long ago.",
                "Your arm is very tight.",
                "Your skin does not like the gel of the pads.",
                "Do not use it when you drive, work with tools, bathe or sleep.",
            ),
            "de": (
                "Sie spüren auf der Haut wenig.",
                "Sie können manches schwer verstehen oder sagen.",
                "Sie haben Anfälle.",
                "Ihr Herz ist schwach oder stolpert.",
                "Ein Nerv im Arm wächst noch nach.",
                "Ihre Haut ist krank.",
                "Ein Muskel oder eine Sehne war vor kurzem verletzt.",
                "Ihr Arm ist sehr steif.",
                "Ihre Haut mag das Gel nicht.",
                "Nicht beim Fahren, an Maschinen, im Bad oder im Schlaf benutzen.",
            ),
        },
    ),
    CautionGroup(
        "Stop and ask",
        ("pain", "burning", "redness that stays", "a rash", "dizziness"),
        plain_title={"en": "Stop and ask if", "de": "Aufhören und fragen"},
        plain={
            "en": (
                "It hurts.",
                "It burns.",
                "The skin stays red.",
                "You get a rash.",
                "You feel faint.",
            ),
            "de": (
                "Es tut weh.",
                "Es brennt.",
                "Die Haut bleibt rot.",
                "Sie bekommen einen Ausschlag.",
                "Ihnen wird schwindlig.",
            ),
        },
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
        head = f'<h{level} data-mark="{group.mark}">{group.title}</h{level}>'
        parts.append(f'<section data-mark="{group.mark}">{head}<ul>{items}</ul></section>')
    parts.append(f'<p class="source">{escape(CAUTIONS_SOURCE, quote=False)}</p>')
    return "".join(parts)


def plain_caution_html(language: str = "en") -> str:
    """Return the plain caution line as HTML, its first sentence bold."""
    line = PLAIN[language]
    return f"<strong>{escape(line.first, quote=False)}</strong> {escape(line.rest, quote=False)}"


def plain_cautions_html(language: str = "en", level: int = 3) -> str:
    """Return the whole list in plain words as HTML, group titles as headings of `level` (2 to 6)."""
    parts = [f"<p>{escape(' '.join(PLAIN[language].intro), quote=False)}</p>"]
    for group in CAUTIONS:
        items = "".join(f"<li>{escape(item, quote=False)}</li>" for item in group.plain[language])
        parts.append(f"<section><h{level}>{group.plain_title[language]}</h{level}><ul>{items}</ul></section>")
    return "".join(parts)
