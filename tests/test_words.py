"""What findings say, in two languages: every key in both, the same numbers in both, and no sentence in the stages themselves."""

from __future__ import annotations

import ast
import functools
import re
import string
from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path

import pytest

from graspwave import simulator as sim
from graspwave.apps.command import main
from graspwave.apps.told import words as plain
from graspwave.simulator.dose import Notice
from graspwave.simulator.electrode import dried, load_current, load_voltage, skin_circuit
from graspwave.simulator.hand import help_notices
from graspwave.simulator.practice import run_practice
from graspwave.simulator.practice.log import CAUSES, PHASES, Event
from graspwave.simulator.words import LANGUAGES, Said, catalogue, said

ROOT = Path(__file__).parents[1]
STAGES = ("dose", "electrode", "notices", "sensation", "hand/helping", "clearing", "why", "lagging")
PRINTED = ("_said", "_drawn", "_columns")
"""How a result prints and draws itself in a console: names of quantities there, no finding."""

AMPLITUDE = "channel.0.pulse.amplitude_ma"
OTHERS = [language for language in LANGUAGES if language != "en"]


def _filled(template: str) -> set[str]:
    return {name for _, name, _, _ in string.Formatter().parse(template) if name}


def lacking(one: dict[str, dict[str, str]], other: dict[str, dict[str, str]]) -> list[str]:
    """Keys that the other catalogue lacks, or fills in otherwise."""
    return [
        f"{table}.{key}" for table, rows in one.items() for key, text in rows.items()
        if key not in other.get(table, {}) or _filled(text) != _filled(other[table][key])
    ]


@pytest.mark.parametrize("language", OTHERS)
def test_every_key_stands_in_every_language_and_is_filled_with_the_same(language: str) -> None:
    assert lacking(catalogue("en"), catalogue(language)) == []
    # what a limit does not cover is its own record in English
    covered = {key for key in catalogue(language)["not_covered"] if key not in catalogue("en")["not_covered"]}
    assert lacking(catalogue(language), catalogue("en")) == [f"not_covered.{key}" for key in catalogue(language)["not_covered"]
                                                             if key in covered]
    assert set(catalogue(language)["not_covered"]) == set(catalogue("en")["quantity"])


def test_a_key_that_is_missing_would_be_found() -> None:
    assert lacking({"why": {"a": "{mm}"}}, {"why": {}}) == ["why.a"]
    assert lacking({"why": {"a": "{mm}"}}, {"why": {"a": "{cm}"}}) == ["why.a"]


def test_sheet_and_findings_are_told_in_the_same_languages() -> None:
    assert tuple(plain.LANGUAGES) == LANGUAGES
    with pytest.raises(ValueError, match="'language' must be one of en, de"):
        said("why.change").told("xx")


def findings() -> Iterator[Said]:
    """What the stages find in scenes of all kinds."""
    presets = sim.presets()
    tight, supple = presets["tight"], presets["supple"]
    strong = tight.replace("channel.0.pads.size_cm2", 4).replace(AMPLITUDE, 60).replace("channel.0.pads.spacing_mm", 10)
    for scene in (tight, tight.replace(AMPLITUDE, 0), strong, strong.replace("channel.0.pulse.shape", "monophasic"),
                  tight.replace(AMPLITUDE, 46).replace("channel.0.pulse.phase_us", 500)):
        yield from (notice.said for notice in sim.notices_of(scene))
    skin, pulse = dried(skin_circuit(25.0)), tight.channel[0].pulse
    yield from (notice.said for load in (load_voltage(pulse, skin), load_current(pulse, skin, 20.0)) for notice in load.notices)
    yield from (advice.said for advice in sim.clears(tight, 110.0).advice)
    other = tight.replace("hand.strength", 0.5)
    pairs = [(tight.replace(AMPLITUDE, 10), tight.replace(AMPLITUDE, 24)), (supple, tight), (tight, supple), (tight, other),
             (tight.replace("hand.own_opening", 0.0), tight.replace("hand.own_opening", 0.4)), (tight, tight),
             (tight.replace(AMPLITUDE, 11.8), tight.replace(AMPLITUDE, 12.2))]
    for before, after in pairs:
        why = sim.explain_opening(before, after)
        yield from (why.said, *why.said_of.values(), *why.label_of.values())


@pytest.fixture(scope="module")
def found() -> list[Said]:
    return list(findings())


def numbers(text: str, point: str) -> list[str]:
    return sorted(re.findall(r"-?\d+(?:\.\d+)?(?:e[-+]\d+)?", text.replace(point, ".")))


@pytest.mark.parametrize("language", OTHERS)
def test_the_numbers_are_the_same_in_every_language(language: str, found: list[Said]) -> None:
    point = catalogue(language)["meta"]["point"]
    kinds = {one.key.partition(".")[0] for one in found}
    assert {"notice", "clears", "why", "share", "label"} <= kinds
    for one in found:
        english, other = one.told("en"), one.told(language)
        assert numbers(english, ".") == numbers(re.sub(rf"(\d){point}(\d)", r"\1.\2", other), "."), english
        assert english != other or not re.search("[a-z]{4}", english), english
        assert "{" not in english + other


@pytest.mark.parametrize("language", OTHERS)
def test_who_helps_with_the_other_hand_is_told_the_same_in_every_language(language: str) -> None:
    tight = sim.presets()["tight"].hand
    for hand in (replace(tight, help_opening=1.0), replace(tight, flexor_length_factor=0.90, help_opening=0.2, finger_tone=0.05)):
        (english,), (other,) = help_notices(hand), help_notices(hand, language=language)
        assert numbers(english, ".") == numbers(other, catalogue(language)["meta"]["point"])
        assert english != other


def test_other_numbers_would_be_found() -> None:
    assert numbers("72 mm, 1.5 mA", ".") != numbers("72 mm, 1.6 mA", ".")


def sentences_in(source: str) -> list[str]:
    """Literals of more than one word that a stage would say: not docstrings, nor errors, nor how a result prints itself."""
    tree, found = ast.parse(source), []

    def walk(node: ast.AST) -> None:
        if isinstance(node, ast.Raise) or (isinstance(node, ast.FunctionDef) and node.name in PRINTED):
            return
        if isinstance(node, ast.Expr) and isinstance(node.value, ast.Constant):
            return  # a docstring
        if isinstance(node, ast.Constant) and isinstance(node.value, str) and re.search(r"[A-Za-z]{2,} [A-Za-z]{2,}", node.value):
            found.append(node.value)
        for child in ast.iter_child_nodes(node):
            walk(child)

    walk(tree)
    return found


def test_no_stage_that_finds_something_holds_a_sentence() -> None:
    kept = set(sim.clearing.HELPS) | {"more than 0", "0 or more"}  # keys of what is tried; the rule of an error that is raised
    for stage in STAGES:
        assert set(sentences_in((ROOT / "simulator" / f"{stage}.py").read_text("utf-8"))) <= kept, stage


def test_a_sentence_in_a_stage_would_be_found() -> None:
    assert sentences_in('def f(n):\n    "A doc string."\n    return f"{n} mm more than before"') == [" mm more than before"]
    assert sentences_in('def f():\n    raise ValueError("must not be so")') == []


def test_every_key_that_a_stage_names_is_in_the_catalogue() -> None:
    for stage in STAGES:
        calls = (
            node for node in ast.walk(ast.parse((ROOT / "simulator" / f"{stage}.py").read_text("utf-8")))
            if isinstance(node, ast.Call) and isinstance(node.func, ast.Name) and node.func.id == "said"
        )
        for key in (call.args[0].value for call in calls if isinstance(call.args[0], ast.Constant)):
            table, _, name = str(key).partition(".")
            assert name in catalogue("en")[table], (stage, key)


def test_ways_that_a_mechanism_can_go_have_label_reason_and_cause() -> None:
    ways = set(catalogue("en")["because"]) - {"both"}
    assert ways == set(catalogue("en")["label"]) - {"rest"}
    assert ways <= set(catalogue("en")["cause"])
    assert {f"{part}_{way}" for part in sim.why.PARTS if part != "hand" for way in ("more", "less")} <= ways
    assert {key.rpartition("_")[0] for key in catalogue("en")["how"]} <= ways


def test_a_notice_is_told_to_a_german_therapist() -> None:
    strong = sim.presets()["tight"].replace("channel.0.pads.size_cm2", 4).replace(AMPLITUDE, 60)
    notice: Notice = sim.notices_of(strong)[0]
    assert notice.said.told("de").startswith("Stromdichte (Effektivwert): ")
    assert notice.quantity_in("de") == "Stromdichte (Effektivwert)"
    assert notice.not_covered_in("de").startswith("ein Mittel über das Pad")
    assert notice.not_covered == notice.note  # in English the record itself
    assert notice.mark_in("de") == "veröffentlicht"


@pytest.fixture(scope="module")
def logged() -> list[Event]:
    """What sessions of all kinds log."""
    tight, weak = sim.presets()["tight"], sim.presets()["supple"].replace("hand.own_opening", 0.4)
    help_ = {"task.let_go": "pictured try", "task.approach": "above"}
    scenes = [tight, weak, tight.replace("task.diameter_mm", 15.0), tight.replace("hand.flexor_length_factor", 0.93)]
    scenes += [functools.reduce(lambda scene, path: scene.replace(path, help_[path]), help_, one) for one in scenes[:2]]
    return [event for scene in scenes for control in ("timed", "held")
            for event in run_practice(scene.replace("session.minutes", 10.0), control).log]


@pytest.mark.parametrize("language", LANGUAGES)
def test_what_a_session_logs_is_told_in_every_language_and_keeps_its_own_names(language: str, logged: list[Event]) -> None:
    known = catalogue(language)
    assert set(PHASES) == set(known["phase"])
    assert set(CAUSES) <= set(known["because_of"])
    causes = {re.sub(r"lean \d+ mm", "lean", event.cause) for event in logged if event.cause}
    assert len(causes) > 12
    assert causes <= set(known["because_of"])
    for event in logged:
        line = event.line(language)
        assert numbers(event.line("en"), ".") == numbers(line, "."), line
        if language == "en":
            assert line.endswith(event.cause)
        else:
            assert event.phase not in line.split("  ")
            assert not event.cause or not line.endswith(f" {event.cause}"), line
    called = r'(?:Failed\(|_until\([^\n]*, |_lasts\([^\n]*, )"([a-z][a-z :-]+)"'
    texts = [path.read_text("utf-8") for path in (ROOT / "simulator" / "practice").glob("*.py")]
    named = {word for text in texts for word in re.findall(called, text)}
    assert named - set(PHASES) <= set(known["because_of"])


def test_a_cause_without_words_would_be_found() -> None:
    with pytest.raises(KeyError):
        Event(0.0, 1.0, "wait", "no such cause").line("de")


def test_the_report_of_a_run_is_told_in_german(tmp_path: Path) -> None:
    assert main(["run", "tight", "--out", str(tmp_path / "out"), "--minutes", "0.5", "--language", "de", "--arms", "3"]) == 0
    page = re.sub(r"<(script|style|pre)\b.*?</\1>", "", (tmp_path / "out" / "report.html").read_text("utf-8"), flags=re.DOTALL)
    told = " ".join(re.sub(r"<[^>]+>", " ", page).split())
    assert '<html lang="de">' in page
    for table in ("curve", "report", "arms"):
        for key, text in catalogue("en")[table].items():
            plain = re.sub(r"\{[^}]*\}.*", "", text).strip()
            assert len(plain) < 6 or plain == catalogue("de")[table][key] or plain not in told, plain
    assert "Zyklus" in told
    assert "Ladung einer Phase" in told
    assert re.search(r"in keinem von 3 anderen Armen.* Getönt: acht von zehn, hier \d+ bis \d+ mm\. .*keine Patienten", told)
    assert "varea" in (tmp_path / "out" / "report.html").read_text("utf-8").lower()
    assert main(["run", "tight", "--out", str(tmp_path / "more"), "--arms", "-1"]) == 2
    assert "fragen Sie" in told or "Fragen Sie" in told
