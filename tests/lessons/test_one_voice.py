"""Lessons, Explain, sheet and cautions speak with one voice: key sentences of one must not be gainsaid by another.

Explain and the sheet take every sentence from one catalogue, so what is compared with that is compared with both.
"""

from __future__ import annotations

import re
import tomllib
from pathlib import Path

import pytest

from graspwave import lessons
from graspwave.apps import notices, told
from graspwave.lessons.vocabulary.safety import caution, clears, groups

SHEET = tomllib.loads((Path(str(told.__file__)).parent / "messages" / "en.toml").read_text("utf-8"))["say"]
TITLES = {"clearance": "Not without medical clearance", "never": "Never", "care": "With care", "stop": "Stop and ask"}

# what Explain and the sheet say -> what some lesson must say too
SAME = {
    "does_nerve": r"wakes? (?:the |a )?nerve|nerve\b.{0,40}\bwake",
    "does_pull": r"[Mm]uscle", "feel_pull": r"Felt first|[Ff]eels?\b",
    "feel_least": r"with as little current as|least current|[Ll]ess was more", "feel_less": r"closes again|claw",
    "practise_drop": r"let(?:ting)? go", "when_press": r"\bswitch\b", "when_up": r"\bramp|rises? slowly|during the rise",
    "sheet_zero": r"from nothing|slowly from nothing", "sheet_stop_hurt": r"[Bb]urn", "sheet_stop_dizzy": r"[Dd]izzy|[Ff]aint",
    "sheet_off": r"current off", "limit_density": r"square centimetre", "limit_spacing": r"gap between the pads|gap\b",
    "limit_one_way": r"symmetric|one way", "outside_contact": r"lifted|corner|only a corner",
    "feel_tingle": r"feel a tingle", "feel_hurt": r"It should not hurt", "feel_better": r"[Ll]ess was more|no aim|not better",
    "practise_along": r"[Tt]ry along|[Oo]pen with (?:it|the current)", "practise_picture": r"picture the move",
    "sheet_pink": r"pink that goes within the hour", "sheet_tired": r"rest", "pads_flat": r"wash it, dry it",
    "sheet_call": r"ring us|a call|and ask|ask first", "sheet_tingle": r"[Tt]ingle",
    "sheet_no_more": r"Stop at the first|no more than that",
    "sheet_end": r"Never lift or move a pad while current runs", "does_opens": r"the hand (?:will start to )?opens?|hand opens",
    "sheet_stop_skin": r"red that stays|stays red|stay red|marks the skin",
}

# what no lesson and no sheet may say
NEVER = (
    r"turn it up until", r"no pain,? no gain", r"work through the pain",
    r"cures? (?:the )?(?:stroke|stiffness|hand)\b(?!.*\bno\b)",
    r"will heal", r"(?<!that this )is safe (?:for|at|below)", r"ignore the",
)


def all_texts() -> dict[str, str]:
    return {slug: lessons.source(slug) for slug in lessons.names()}


@pytest.mark.parametrize("key", SAME)
def test_what_the_sheet_says_a_lesson_says_too(key: str) -> None:
    assert SHEET[key]
    assert [slug for slug, text in all_texts().items() if re.search(SAME[key], text)], SHEET[key]


# a sentence of Explain or the sheet; what would gainsay it in a lesson's own voice; and words that do, which must be found
AGAINST = {
    "does_nerve": (r"current (?:itself )?pulls (?:on )?the muscle|past the nerve", "The current itself pulls the muscle."),
    "does_pull": (r"muscle (?:answers|moves|pulls) without (?:the|its|a) nerve", "The muscle answers without its nerve."),
    "does_opens": (r"the machine (?:re-?educates|teaches the hand)", "The machine teaches the hand."),
    "pads_flat": (r"pads? (?:may|can) (?:be )?(?:shared|lent)|on (?:damp|wet|unwashed) skin", "A pad may be shared."),
    "feel_tingle": (r"(?:a )?tingl(?:e|ing) (?:means|shows|proves) (?:that )?it works|opens before it tingles",
                    "Tingling means it works."),
    "feel_pull": (r"(?:hand|fingers) (?:moves?|opens?) before (?:anything|it) is felt",
                  "The hand moves before anything is felt."),
    "feel_hurt": (r"(?:should|must|has to|will) hurt\b(?! most)|pain (?:is|means) (?:good|normal|progress)",
                  "It should hurt a little."),
    "feel_less": (r"more current always (?:opens|helps)|the more current,? the (?:wider|more open)",
                  "More current always opens more."),
    "feel_better": (r"(?:more|higher) current (?:is|works|teaches) better|the more current the better",
                    "More current is better."),
    "feel_least": (r"as much (?:current )?as (?:she|he|they|one|the person) can (?:bear|take)|up to the limit of pain",
                   "Give as much current as she can bear."),
    "when_up": (r"(?:start|begin) at full (?:current|strength)|without a rise is (?:gentler|better)", "Start at full current."),
    "when_press": (r"nobody (?:should|may|must) (?:press|hold) (?:the|a) switch", "Nobody should press the switch."),
    "practise_along": (r"(?:must|should) not try along|(?:keep|stay) (?:quite )?passive", "People should not try along."),
    "practise_picture": (r"(?:never|do not|no use to) (?:picture|imagine) (?:it|the move)", "Do not picture the move."),
    "practise_drop": (r"(?:never|do not) let go (?:while|when) (?:it|the current) comes on", "Never let go when it comes on."),
    "sheet_zero": (r"(?:start|begin) (?:at|with) (?:yesterday's|last week's|the old|the same) current",
                   "Begin at yesterday's current."),
    "sheet_no_more": (r"(?:and )?then (?:a bit|some|five) (?:more|further) once it opens", "Then some more once it opens."),
    "sheet_end": (r"take (?:off )?the pads (?:off )?while", "Take the pads off while it runs."),
    "sheet_tingle": (r"(?:a )?tingl(?:e|ing) is (?:a )?(?:danger|harm|bad)", "Tingling is a danger."),
    "sheet_pink": (r"red(?:ness)? (?:that stays )?is normal", "Redness that stays is normal."),
    "sheet_tired": (r"(?:go|push) on through (?:the )?(?:tiredness|fatigue)", "Push on through tiredness."),
    "sheet_stop_hurt": (r"(?:burn(?:s|ing)?|a sting|stinging) is (?:normal|fine|usual)", "Burning is normal."),
    "sheet_stop_skin": (r"a rash (?:is (?:normal|fine|usual)|goes by itself)", "A rash goes by itself."),
    "sheet_stop_dizzy": (r"(?:dizzy|dizziness|faint|fainting) is (?:normal|fine|usual)|go on (?:while|though) (?:dizzy|faint)",
                         "Dizziness is usual."),
    "sheet_off": (r"(?<!never )(?<!never lift or )(?:lift|move) (?:a|the) pads? while (?:the )?current (?:runs|is on|flows)",
                  "Move a pad while current runs."),
    "sheet_call": (r"no need to (?:call|ring|ask)", "There is no need to call."),
    "limit_density": (r"(?:small|smaller) pads? (?:are|is) (?:gentler|kinder) to the skin",
                      "Small pads are gentler to the skin."),
    "limit_spacing": (r"pads? may (?:touch|overlap)", "The pads may touch."),
    "limit_one_way": (r"one[- ]way pulses? (?:are|is) (?:as )?(?:gentle|safe|fine)", "One-way pulses are fine."),
    "outside_contact": (r"(?:half|a corner) (?:of a pad )?is (?:still )?enough", "Half of a pad is enough."),
}

# what is filled in from one plan or says how a page is laid out: no lesson could gainsay it without that plan
OF_ONE_PLAN = (
    "does_taps", "does_shut", "pads_", "feel_pull_shut", "feel_slow", "feel_same", "feel_wider", "feel_still", "when_",
    "practise_", "sheet_sit", "sheet_pads", "sheet_lead", "sheet_up", "sheet_tick", "sheet_scale", "sheet_pain", "notice_",
    "limit_", "outside_", "alt_",
)


def test_every_sentence_is_compared_or_is_of_one_plan() -> None:
    """A sentence that is new in the catalogue must be put among those that are compared, or among those of one plan."""
    left = [key for key in SHEET if key not in AGAINST and not key.startswith(OF_ONE_PLAN)]
    assert left == []
    assert set(AGAINST) | set(SAME) <= set(SHEET)
    # what the sheet tells people to stop at, to begin with and to do last is compared both ways
    assert {key for key in SHEET if re.match(r"sheet_(?:stop|zero|off|call|pink|tired)", key)} <= set(SAME) & set(AGAINST)


@pytest.mark.parametrize("key", AGAINST)
def test_no_lesson_gainsays_explain_or_the_sheet(key: str) -> None:
    assert SHEET[key]
    pattern, gainsays = AGAINST[key]
    said = {slug: _told(text) for slug, text in all_texts().items()}
    assert [slug for slug, text in said.items() if re.search(pattern, text, re.IGNORECASE)] == [], SHEET[key]
    # in a lesson's own voice it would be found; in quotes, as a belief, it may stand there
    assert re.search(pattern, _told(gainsays), re.IGNORECASE)
    assert not re.search(pattern, _told(f"She says: \u201c{gainsays}\u201d No."), re.IGNORECASE)


@pytest.mark.parametrize("pattern", NEVER)
def test_what_nobody_may_say(pattern: str) -> None:
    said = {"sheet": " ".join(SHEET.values()), **{slug: _told(text) for slug, text in all_texts().items()}}
    assert [name for name, text in said.items() if re.search(pattern, text, re.IGNORECASE)] == []


def _told(text: str) -> str:
    """What a lesson says in its own voice: without what stands in quotes as a belief or as somebody's words."""
    plain = re.sub(r"(?m)^(?:right_if|says|needs|question) = .*$", "", text)
    return re.sub(r'[“"][^”"\n]*[”"]', "", re.sub(r'(?m)^(?:because|passes|text|title|write) = "(.*)"$', r"\1", plain))


def test_the_cautions_of_the_lessons_are_those_of_the_pages() -> None:
    there = {group.title: group.items for group in notices.CAUTIONS}
    for group, entries in groups().items():
        for thing, words in entries.items():
            assert words in (there[TITLES[group]] if group in TITLES else SHEET.values()), thing
            assert caution(thing) == group


def test_the_strictest_caution_decides() -> None:
    assert [clears("tingling"), clears("tingling", "fits")] == ["go", "ask first"]
    assert [clears(""), clears("numb skin"), clears("numb skin", "a fracture"), clears("front of the neck")] == [
        "go", "ask first", "no", "no"]
    with pytest.raises(ValueError, match="did you mean broken skin"):
        caution("broken skinn")


def test_the_safety_lesson_tells_every_stop_rule_of_the_list() -> None:
    text = lessons.source("safety").casefold()
    for word in ("pain", "burn", "red", "rash", "dizz"):
        assert word in text


def test_a_belief_is_named_only_beside_a_choice_that_says_it() -> None:
    """Words that a choice must have where it is tagged with a belief."""
    words = {
        "M1": r"long|current|pulse|twitch", "M4": r"Hz|fast|double|half as much|fibres|a second|more",
        "M13": r"[Tt]ingle|answer|[Ss]ome|[Mm]ost",
        "M16": r"tight", "M20": r"other end", "M21": r"length|comfort", "M22": r"[Bb]igger",
    }
    for slug in lessons.names():
        for step in lessons.load(slug).steps:
            for choice in step.question.choices if step.question else ():
                if choice.belief in words:
                    assert re.search(words[choice.belief], choice.says.value), (slug, choice.says.value, choice.belief)


@pytest.mark.parametrize("slug", lessons.names())
def test_notes_hold_no_words_of_the_bookkeeping(slug: str) -> None:
    """A mark of a claim stands with its source; what is said aloud in a room is plain."""
    marks = re.compile(r"\(?recalled|certainty|\((?:published|memory|derived|practice|demo|gap)\)")
    assert marks.search("(recalled with high certainty)")
    said = {step.title: str(step.say) for step in lessons.load(slug).steps if step.say}
    assert {title: found[0] for title, words in said.items() if (found := marks.search(words))} == {}
