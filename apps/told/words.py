"""The words of the Explain page and the sheet, made from what is told of a scene and a catalogue of messages."""

from __future__ import annotations

import datetime
import tomllib
from dataclasses import dataclass
from functools import cache
from importlib.resources import files
from typing import Any

from graspwave import simulator as sim
from graspwave.apps.told.account import Told

__all__ = [
    "LANGUAGES", "PICTURES", "PictureWords", "asked_words", "catalogue", "date_words", "label", "labels", "length_words",
    "notice_lines", "number_words", "picture_words", "say", "seconds_words", "sheet_steps", "therapist_line",
]

PICTURES = ("does", "pads", "feel", "when", "practise")
_INCH_MM = 25.4
_TRIED = ("pads", "when")
"""Pictures that tell what was set; they are headed as what was tried, never as an order."""


@dataclass(frozen=True, slots=True)
class PictureWords:
    """One picture in words: its title, its sentences, what is seen on it, and whether it tells what was set."""

    key: str
    title: str
    lines: tuple[str, ...]
    seen: str
    tried: bool = False


@cache
def catalogue(language: str) -> dict[str, Any]:
    """The messages of one language."""
    if language not in LANGUAGES:
        raise ValueError(f"'language' must be one of {', '.join(LANGUAGES)} (got {language!r}). Choose one of them.")
    return tomllib.loads((files("graspwave.apps.told") / "messages" / f"{language}.toml").read_text("utf-8"))


def _languages() -> dict[str, str]:
    found = {}
    for file in sorted((files(__package__) / "messages").iterdir(), key=lambda item: (item.name != "en.toml", item.name)):
        if file.name.endswith(".toml"):
            found[file.name.removesuffix(".toml")] = tomllib.loads(file.read_text("utf-8"))["meta"]["name"]
    return found


LANGUAGES = _languages()
"""Language code to its own name; a catalogue that is added is offered."""


def say(language: str, key: str, **values: str) -> str:
    """One sentence of the catalogue, filled in."""
    return str(catalogue(language)["say"][key]).format(**values)


def label(language: str, key: str, **values: str) -> str:
    """One label of the catalogue, filled in."""
    return str(catalogue(language)["label"][key]).format(**values)


def labels(language: str) -> dict[str, str]:
    """All labels, with what is still to fill in."""
    return dict(catalogue(language)["label"])


def number_words(language: str, value: int) -> str:
    """A whole number: in words up to twelve."""
    names = catalogue(language)["meta"]["numbers"]
    return str(names[value]) if value < len(names) else str(value)


def decimals(language: str, value: float) -> str:
    """A number as written in the language, to a tenth."""
    return f"{value:.1f}".removesuffix(".0").replace(".", catalogue(language)["meta"]["decimal"])


def seconds_words(language: str, seconds: float) -> str:
    """A time as people say it: halves up to three seconds, then whole seconds, fives, half minutes."""
    unit = catalogue(language)["unit"]
    if seconds < 0.75:
        return str(unit["under_second"])
    if seconds < 3.25:
        halves = round(2.0 * seconds)
        whole, half = divmod(halves, 2)
        key = ("second" if whole == 1 else "seconds") + ("_half" if half else "")
        return str(unit[key]).format(n=number_words(language, whole))
    whole = round(seconds) if seconds < 20.5 else 5 * round(seconds / 5.0)
    if whole < 60:
        return str(unit["seconds"]).format(n=number_words(language, whole))
    whole, half = divmod(round(seconds / 30.0), 2)
    key = ("minute" if whole == 1 else "minutes") + ("_half" if half else "")
    return str(unit[key]).format(n=number_words(language, whole))


def minutes_words(language: str, minutes: float) -> str:
    """A longer time in whole minutes, fives, or half hours."""
    unit, whole = catalogue(language)["unit"], max(1, round(minutes))
    if whole >= 58:
        hours, half = divmod(round(minutes / 30.0), 2)
        key = ("hour" if hours == 1 else "hours") + ("_half" if half else "")
        return str(unit[key]).format(n=number_words(language, hours))
    if whole > 20:
        whole = 5 * round(minutes / 5.0)
    return str(unit["minute"] if whole == 1 else unit["minutes"].format(n=number_words(language, whole)))


def length_words(language: str, mm: float) -> str:
    """A length in centimetres, and in inches where the language has them."""
    unit = catalogue(language)["unit"]
    cm, quarters = round(mm / 10.0), round(4.0 * mm / _INCH_MM)
    metric = unit["cm_half"] if cm < 1 else unit["cm"] if cm == 1 else unit["cm_more"].format(n=number_words(language, cm))
    inches = round(mm / _INCH_MM)
    if quarters <= 1:
        inch = unit["inch_quarter"]
    elif inches < 1 or quarters == 2:
        inch = unit["inch_half"]
    else:
        inch = unit["inch"] if inches == 1 else unit["inch_more"].format(n=number_words(language, inches))
    return str(unit["gap"]).format(cm=metric, inch=inch)


def date_words(language: str, day: datetime.date) -> str:
    """A date as written in the language."""
    meta = catalogue(language)["meta"]
    return str(meta["date"]).format(day=day.day, month=meta["months"][day.month - 1], year=day.year)


def tries_words(language: str, tries: int) -> str:
    """A count as people say it: exact up to twelve, then fives."""
    step = 1 if tries <= 12 else 5
    return number_words(language, step * round(tries / step))


def picture_words(told: Told, language: str) -> tuple[PictureWords, ...]:
    """The five pictures in words."""
    thing = str(catalogue(language)["object"][told.object])
    around = str(catalogue(language)["around"][told.around])
    keys = {"does": _does, "pads": _pads, "feel": _feel, "when": _when, "practise": _practise}
    found = []
    for key in PICTURES:
        seen = "alt_when_held" if key == "when" and told.control == "held" else f"alt_{key}"
        found.append(PictureWords(
            key, str(catalogue(language)["title"][key]), tuple(keys[key](told, language)),
            say(language, seen, around=around, object=thing), key in _TRIED,
        ))
    return tuple(found)


def asked_words(language: str) -> dict[str, tuple[str, tuple[str, ...]]]:
    """What patients ask, and the answers, by key: the same for every scene."""
    words = catalogue(language)
    return {key: (str(question), tuple(words["answer"][key])) for key, question in words["ask"].items()}


def _does(told: Told, language: str) -> list[str]:
    return [say(language, key) for key in ("does_taps", "does_nerve", "does_pull", "does_opens" if told.opens else "does_shut")]


def _pads(told: Told, language: str) -> list[str]:
    words = catalogue(language)
    if told.limb == "forearm":
        lines = [say(language, "pads_place", around=words["around"][told.around]),
                 say(language, "pads_along", along=words["along"][told.along])]
    else:
        lines = [say(language, "pads_place_upper")]
    lines += [say(language, "pads_gap", gap=length_words(language, told.gap_mm)), say(language, "pads_flat")]
    if told.pairs > 1:
        return [*lines, say(language, "pads_pairs"), say(language, "pads_second")]
    return [*lines, say(language, "pads_shown")]


def _feel(told: Told, language: str) -> list[str]:
    keys = ["feel_tingle", "feel_pull" if told.opens else "feel_pull_shut"]
    if told.slow:
        keys.append("feel_slow")
    keys += ["feel_hurt", f"feel_{told.more}"]
    # that more is no better is only said where it is seen
    keys.append("feel_least" if told.more == "wider" else "feel_better")
    return [say(language, key) for key in keys]


def _when(told: Told, language: str) -> list[str]:
    rise = (
        say(language, "when_up", up=seconds_words(language, told.up_s)) if told.up_s >= 0.25 else say(language, "when_up_at_once")
    )
    fall = (
        say(language, "when_down", down=seconds_words(language, told.down_s)) if told.down_s >= 0.25
        else say(language, "when_down_at_once")
    )
    if told.control == "held":
        lines = [say(language, "when_press"), rise, say(language, "when_let_go"), *([fall] if told.down_s >= 0.25 else [])]
    else:
        stay = [say(language, "when_on", on=seconds_words(language, told.on_s))] if told.on_s >= 0.25 else []
        rest = (
            say(language, "when_off", off=seconds_words(language, told.off_s)) if told.off_s >= 0.5
            else say(language, "when_no_rest")
        )
        lines = [say(language, "when_alone"), rise, *stay, fall, rest]
    return lines if told.same_times else [*lines, say(language, "when_second")]


def _practise(told: Told, language: str) -> list[str]:
    thing = str(catalogue(language)["object"][told.object])
    return [say(language, "practise_along"), say(language, "practise_picture"), *_with_object(told, language, thing),
            *_tries(told, language)]


def _with_object(told: Told, language: str, thing: str) -> list[str]:
    if not told.fits:
        return [say(language, "practise_round_small", object=thing), say(language, "practise_smaller")]
    return [say(language, "practise_round", object=thing), say(language, "practise_hold", object=thing),
            say(language, "practise_drop")]


def _tries(told: Told, language: str) -> list[str]:
    if not told.tries:
        return [say(language, "practise_tries_held")]
    key = "practise_tries" + ("_one" if told.tries == 1 else "_many" if told.tries > 102 else "")
    return [
        say(language, "practise_length", minutes=minutes_words(language, told.minutes)),
        say(language, key, n=tries_words(language, told.tries)),
    ]


def sheet_steps(told: Told, language: str) -> tuple[str, ...]:
    """The steps of the sheet, in order; each is one or two sentences."""
    def both(*keys: str) -> str:
        return " ".join(say(language, key) for key in keys)

    thing = str(catalogue(language)["object"][told.object])
    come = ["when_press"] if told.control == "held" else []
    return (
        both("sheet_sit"), both("sheet_pads", "pads_flat"), both("sheet_lead", "sheet_zero"), both("sheet_up", "sheet_no_more"),
        both(*come, "practise_along", "practise_picture"), " ".join(_with_object(told, language, thing)), both("sheet_end"),
    )


def notice_lines(told: Told, language: str) -> tuple[str, ...]:
    """What a sheet from such a setting must say; empty where no limit is passed and the model covers it."""
    if not told.noticed:
        return ()
    lead = "notice_lead" if told.limits else "notice_lead_outside"
    keys = [*(f"limit_{key}" for key in told.limits), *(f"outside_{key}" for key in told.outside)]
    return (say(language, lead), say(language, "notice_ask"), *(say(language, key) for key in keys))


def therapist_line(scene: sim.Scene, told: Told, language: str) -> str:
    """What the pictures are drawn from, for the one who set it."""
    unit = catalogue(language)["unit"]["s"]
    times = {
        key: unit.format(n=decimals(language, value))
        for key, value in (("up", told.up_s), ("on", told.on_s), ("down", told.down_s), ("off", told.off_s))
    }
    return label(language, "drawn", title=scene.title, timing=label(language, told.control, **times))
