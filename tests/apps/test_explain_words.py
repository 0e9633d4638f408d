"""Words of Explain and of the sheet: grade, completeness, truth to the scene, numbers as people say them."""

from __future__ import annotations

import datetime
import random
import re
import string
from functools import cache

import pytest
import textstat

from graspwave import simulator as sim
from graspwave.apps import notices
from graspwave.apps.files.sheet import sheet_text
from graspwave.apps.look.frame import WORDS
from graspwave.apps.told import words
from graspwave.apps.told.account import hand_curve, told
from graspwave.apps.told.five_pictures import picture_data
from graspwave.apps.told.posture import STRONGEST_MA
from graspwave.apps.told.words import LANGUAGES, catalogue
from graspwave.lessons import readability

GERMAN_SENTENCE = 10.5
"""A German sentence of three words, one of them long, comes out high: the formula is for texts, which have their own limit."""


def random_scene(draw: random.Random) -> sim.Scene:
    """A scene drawn over the whole range of every setting that the words depend on, and of the dose."""
    def within(path: str) -> float:
        low, high = sim.setting(path).range or (0.0, 1.0)
        # half of them in whole numbers, as people set them
        value = draw.uniform(low, high)
        return float(min(max(round(value), low), high)) if draw.random() < 0.5 else value

    def channel() -> sim.Channel:
        up_s = draw.choice([0.0, 0.5, 1.0, 1.5, 2.0, within("ramp.up_s")])
        ramp = sim.Ramp(up_s, draw.choice([0.0, 1.0, within("ramp.down_s")]))
        inside = draw.random() < 0.7
        on_s = min(120.0, max(within("timing.on_s"), ramp.up_s + ramp.down_s))
        return sim.Channel(
            pads=sim.Pads(
                along_percent=within("pads.along_percent"), around_deg=within("pads.around_deg"),
                spacing_mm=within("pads.spacing_mm"), size_cm2=within("pads.size_cm2"),
                limb=draw.choice(["forearm"] * 5 + ["upper arm"]),
                contact=draw.choice(["whole"] * 5 + ["halved", "lifted", "dried"]),
            ),
            pulse=sim.Pulse(
                amplitude_ma=within("pulse.amplitude_ma"), phase_us=draw.uniform(50, 600),
                shape=draw.choice(["symmetric", "symmetric", "asymmetric", "monophasic"]), phase_ratio=2.0,
            ),
            train=sim.Train(draw.choice([5.0, 20.0, 35.0, 50.0])), ramp=ramp,
            timing=sim.Timing(
                draw.choice(["cycle", "cycle", "held"]), on_s, draw.choice([0.0, 10.0, within("timing.off_s")]), 0.0, inside),
        )

    first = channel()
    more = draw.choice([(), (), (first,), (channel(),)])
    return sim.Scene(
        title="Frau Irgendwer 42 mA", story="A name.",
        hand=sim.Hand(flexor_length_factor=draw.choice([0.95, 0.98, 1.0]), strength=draw.choice([0.3, 0.5, 1.0])),
        channel=(first, *more),
        task=sim.Task(*draw.choice([("pot", 70.0), ("bulb", 45.0), ("bean", 15.0), ("neuromuscular electrostimulator", 33.0)])),
        session=sim.Session(within("session.minutes")),
        without_mechanisms=draw.choice([(), (), ("spread",)]),
    )


@cache
def scenes() -> tuple[sim.Scene, ...]:
    draw = random.Random(8)
    return tuple(random_scene(draw) for _ in range(500))


@cache
def parts(language: str) -> frozenset[tuple[str, ...]]:
    """Every part of page and sheet over all scenes, as tuples of texts, each once."""
    found: set[tuple[str, ...]] = set()
    for scene in scenes():
        said = told(scene)
        for picture in words.picture_words(said, language):
            found |= {picture.lines, (picture.seen,)}
        found |= set(sheet_text(scene, language).values())
    found |= {(question, *answer) for question, answer in words.asked_words(language).values()}
    plain = notices.PLAIN[language]
    found |= {plain.intro, plain.short, (plain.first, plain.rest), *(group.plain[language] for group in notices.CAUTIONS)}
    return frozenset(part for part in found if part)


def all_sentences(language: str) -> list[str]:
    return sorted({s for part in parts(language) for text in part for s in readability.sentences(text)})


def above(texts: list[str], grade: object, highest: float) -> list[str]:
    """Texts that are harder to read than allowed."""
    return [f"{grade(text):.1f} {text}" for text in texts if grade(text) > highest]  # type: ignore[operator]


def test_every_english_sentence_is_grade_six_or_lower() -> None:
    said = all_sentences("en")
    assert len(said) > 150
    assert above(said, readability.grade, readability.HIGHEST_GRADE["en"]) == []


def test_the_general_library_agrees_on_grade_six() -> None:
    textstat.set_lang("en")
    said = all_sentences("en")
    assert above(said, textstat.flesch_kincaid_grade, readability.HIGHEST_GRADE["en"]) == []
    # it counts syllables by places to hyphenate, which misses short ones: ours is the higher on average
    gaps = [readability.grade(text) - textstat.flesch_kincaid_grade(text) for text in said]
    assert 0.0 <= sum(gaps) / len(gaps) < 3.0


def test_every_german_part_is_grade_six_or_lower() -> None:
    texts = sorted(" ".join(part) for part in parts("de") if sum(len(readability.sentences(text)) for text in part) > 2)
    assert len(texts) > 100
    assert above(texts, readability.german_grade, readability.HIGHEST_GRADE["de"]) == []
    textstat.set_lang("de")
    try:
        assert above(texts, lambda text: textstat.wiener_sachtextformel(text, 1), readability.HIGHEST_GRADE["de"]) == []
    finally:
        textstat.set_lang("en")


def test_no_german_sentence_is_far_off() -> None:
    assert above(all_sentences("de"), readability.german_grade, GERMAN_SENTENCE) == []


def test_a_hard_sentence_would_be_found() -> None:
    assert above(["Electrical impulses facilitate activity in your extensor muscles."], readability.grade, 6.0)
    assert above(["Elektrische Impulse ermöglichen muskuläre Aktivitäten der Streckmuskulatur."], readability.german_grade, 6.0)


def test_sentences_are_short() -> None:
    assert [s for s in all_sentences("en") if len(readability.words(s)) > 15] == []


def fields(text: str) -> set[str]:
    return {name for _, name, _, _ in string.Formatter().parse(text) if name}


@pytest.mark.parametrize("language", [key for key in LANGUAGES if key != "en"])
def test_a_translation_is_complete(language: str) -> None:
    ours, theirs = catalogue("en"), catalogue(language)
    assert set(theirs) - {"frame"} == set(ours)
    assert set(theirs["frame"]) <= set(WORDS)
    assert set(WORDS) - set(theirs["frame"]) <= {"settings"}  # which is the drawer's own label here
    for table, messages in ours.items():
        assert set(theirs[table]) == set(messages), table
        for key, text in messages.items():
            if isinstance(text, list):
                assert len(theirs[table][key]) == len(text)
            elif table == "say":
                assert fields(theirs[table][key]) == fields(text), key
                assert theirs[table][key] != text, key
    for group in notices.CAUTIONS:
        assert len(group.plain[language]) == len(group.items)
    assert set(notices.PLAIN) == set(LANGUAGES)


@pytest.mark.parametrize(
    ("seconds", "english", "german"),
    [
        (0.3, "less than one second", "weniger als eine Sekunde"), (1.0, "one second", "eine Sekunde"),
        (1.5, "one and a half seconds", "eineinhalb Sekunden"), (2.5, "two and a half seconds", "zweieinhalb Sekunden"),
        (2.05, "two seconds", "zwei Sekunden"), (12.2, "twelve seconds", "zwölf Sekunden"), (16.0, "16 seconds", "16 Sekunden"),
        (43.0, "45 seconds", "45 Sekunden"), (118.0, "two minutes", "zwei Minuten"), (300.0, "five minutes", "fünf Minuten"),
    ],
)
def test_times_as_people_say_them(seconds: float, english: str, german: str) -> None:
    assert words.seconds_words("en", seconds) == english
    assert words.seconds_words("de", seconds) == german


def test_lengths_decimals_and_dates_follow_the_language() -> None:
    assert words.length_words("en", 30.0) == "three cm, or one inch,"
    assert words.length_words("de", 30.0) == "drei cm"
    assert (words.decimals("en", 1.5), words.decimals("de", 1.5)) == ("1.5", "1,5")
    day = datetime.date(2026, 3, 5)
    assert words.date_words("en", day) == "5 March 2026"
    assert words.date_words("de", day) == "5. März 2026"


def test_words_follow_the_scene() -> None:
    scene = sim.presets()["tight"]
    when = words.picture_words(told(scene), "en")[3].lines
    assert when == ("A timer turns it on and off.", "It comes on gently over one and a half seconds.",
                    "It stays on for six seconds.", "It fades over one second.", "Then it rests for 16 seconds.")
    held = told(scene.replace("channel.0.timing.control", "held"))
    assert "You press a switch, and it comes on." in words.picture_words(held, "en")[3].lines
    shut = told(scene.replace("channel.0.pulse.amplitude_ma", 0.0))
    assert "The pull opens your hand." not in words.picture_words(shut, "en")[0].lines


def test_more_is_not_better_is_what_the_model_gives() -> None:
    for scene in scenes()[:120]:
        said = told(scene)
        now, more = sim.opening_curve(scene, [scene.channel[0].pulse.amplitude_ma, said.more_ma]).opening_mm
        assert {"less": now - more >= 4.0, "wider": more - now >= 4.0}.get(said.more, abs(more - now) < 5.0), said.more
        lines = words.picture_words(said, "en")[2].lines
        assert ("More is not better." in lines) == (said.more != "wider")


def test_the_hand_with_more_current_is_never_the_wider_one() -> None:
    for scene in sim.presets().values():
        frames = picture_data(scene, "en")["frames"]
        until = len(frames["now"])
        assert frames["more"][:until] == frames["now"]
        at = [frame["t_ms"] for frame in frames["more"]]
        assert at == sorted(set(at))
        now = hand_curve(scene).opening_mm[1]
        turned_up = [frame["current"] * STRONGEST_MA for frame in frames["more"][until:]]
        assert turned_up[0] >= scene.channel[0].pulse.amplitude_ma - 0.1
        assert sim.opening_curve(scene, turned_up).opening_mm.max() <= now + 0.5


def test_wider_claim_would_be_found_false() -> None:
    said = told(sim.presets()["tight"])
    now, more = sim.opening_curve(sim.presets()["tight"], [13.0, said.more_ma]).opening_mm
    assert said.more == "less"
    assert not more - now >= 4.0


def test_labels_have_no_place_left_to_fill() -> None:
    for language in LANGUAGES:
        for scene in scenes()[:60]:
            for part in (*sheet_text(scene, language).values(), (words.therapist_line(scene, told(scene), language),)):
                assert not any(re.search(r"[{}]", text) for text in part)


def test_an_unknown_language_is_refused() -> None:
    with pytest.raises(ValueError, match=r"^'language' must be one of en, de \(got 'xx'\)\. Choose one of them\.$"):
        catalogue("xx")


def test_plain_cautions_stand_beside_the_professional_ones() -> None:
    for language in LANGUAGES:
        html = notices.plain_cautions_html(language)
        assert notices.plain_caution_html(language).startswith(f"<strong>{notices.PLAIN[language].first}</strong>")
        for group in notices.CAUTIONS:
            assert all(f"<li>{item}</li>" in html for item in group.plain[language])
    assert 'data-mark="memory mid"' in notices.cautions_html()
