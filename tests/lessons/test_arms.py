"""Questions put to other arms: what is drawn, what counts as kept, and that a question that hangs on a guess is found."""

from __future__ import annotations

import json
import random
import subprocess
import sys
from collections.abc import Callable, Iterator, Sequence
from pathlib import Path

import pytest
from small_words import GOOD, NAMES, edited, small

from graspwave import lessons
from graspwave import simulator as sim
from graspwave.apps.command import main
from graspwave.lessons.arms import count, drawn, each_arm, hands
from graspwave.lessons.variants import Answer, answers, as_text, from_text, stays

ANSWERED: list[dict[int, Answer]] = []
"""What each arm answered, in the order of seeds."""

FRAIL = small("Two questions", "see which answer holds", 'strength = "s.hand.strength"', """## Firm

```ask
kind = "one"
question = "Is a double pulse twice the charge?"
for = "A"
[A]
says = "Yes"
right_if = "charge(s(phase=300)) / charge(s(phase=150)) > 1.9"
[B]
says = "No"
right_if = "charge(s(phase=300)) / charge(s(phase=150)) <= 1.9"
```

```reveal
Yes.
```

## Frail

```ask
kind = "one"
question = "Is this arm as strong as it is?"
for = "A"
[A]
says = "At least"
right_if = "strength >= 0.55"
[B]
says = "Less"
right_if = "strength < 0.55"
```

```reveal
At least.
```
""")


@pytest.fixture
def file(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> Path:
    """The lesson; an arm that answered a test before is not asked again: what it answers hangs on no ``unsteady``."""
    path = tmp_path / "01-two.md"
    path.write_text(FRAIL, "utf-8")

    def asked(module: str, files: Sequence[str], arms: int, tell: Callable[[str], None], at_once: int) -> Iterator[str]:
        assert files == [str(path)]
        if arms >= len(ANSWERED):  # the first time each arm is a process of its own
            ANSWERED[:] = [from_text(text)[str(path)] for text in each_arm(module, files, arms, tell, at_once)]
        for seed, answer in enumerate(ANSWERED[:arms + 1]):
            if seed:
                tell(f"{seed} of {arms} arms")
            yield as_text({str(path): answer})

    monkeypatch.setattr("graspwave.lessons.arms.each_arm", asked)
    return path


def test_answers_are_those_that_computing_the_lesson_gives() -> None:
    lesson, _ = lessons.read(GOOD, "x.md")
    assert lesson is not None
    found = answers(lesson, NAMES)
    computed = lessons.compute(lesson, NAMES)
    for step in computed.steps:
        if step.question is None:
            continue
        right = step.question.right
        value = right["value" if "value" in right else "x"] if isinstance(right, dict) else tuple(right)
        assert found[step.number] == value
    assert from_text(as_text({"x.md": found})) == {"x.md": found}


def test_a_condition_that_cannot_be_worked_out_is_no_answer() -> None:
    lesson, _ = lessons.read(edited('right_if = "best(t) > best(s) + 3"', 'right_if = "1 / (best(t) - 14) > 3"'), "x.md")
    assert lesson is not None
    assert answers(lesson, NAMES)[2] is None


@pytest.mark.parametrize(("usual", "other", "same"), [
    (("A",), ("A",), True), (("A",), ("B",), False), (("A", "B"), ("B", "A"), False), (5.0, 6.0, True), (5.0, 7.5, False),
    (None, None, False), (("A",), None, False), (5.0, ("A",), False),
])
def test_what_counts_as_kept(usual: object, other: object, same: bool) -> None:
    assert stays(usual, other, 2.0) is same  # type: ignore[arg-type]


def test_the_question_that_hangs_on_a_guess_is_found(file: Path) -> None:
    firm, frail = count([str(file)], 4)
    assert (firm.kept, firm.of) == (4, 4)
    assert 0 < frail.kept < 4
    assert frail.others == {"B": 4 - frail.kept}


def test_check_says_it_and_a_question_may_say_it_itself(file: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["check", str(file), "--arms", "3"]) == 1
    out = capsys.readouterr().out
    assert "two 1: 3 of 3 arms" in out
    assert "must say so" in out
    file.write_text(FRAIL.replace('question = "Is this arm', 'unsteady = true\nquestion = "Is this arm'), "utf-8")
    assert main(["check", str(file), "--arms", "3"]) == 0
    assert "must say so" not in capsys.readouterr().out
    assert main(["check", str(file), "--arms", "-1"]) == 2


def test_an_arm_is_the_same_at_every_drawing_and_another_with_another_seed() -> None:
    script = ("import json\nfrom graspwave.lessons.arms import draw\nfrom graspwave import simulator as sim\n"
              "found = draw(1)\nassert all(sim.all_facts()[name].value == value for name, value in found.items())\n"
              "print(json.dumps(found))")
    told = subprocess.run([sys.executable, "-c", script], capture_output=True, text=True, check=True).stdout
    assert json.loads(told) == drawn(1) == drawn(1) != drawn(2)
    assert "recruitment.axon.spread_ln" in drawn(1)


def test_hands_stay_within_their_ranges_and_seed_nought_is_the_bench() -> None:
    for seed in random.Random(3).sample(range(1, 1000), 8):
        for scene in hands(seed).values():
            for name in ("strength", "finger_tone", "fat_mm", "flexor_length_factor"):
                low, high = sim.setting(f"hand.{name}").range or (0.0, 0.0)
                assert low <= getattr(scene.hand, name) <= high
    assert hands(0)["t"].hand == sim.presets()["tight"].hand
    assert hands(4)["t"].hand != sim.presets()["tight"].hand
