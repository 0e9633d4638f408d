"""What is shaded around curves of opening: which curves, that what is shipped was counted with the numbers of now, and how."""

from __future__ import annotations

import dataclasses
import json
from pathlib import Path

import numpy as np
import pytest
from small_words import small

from graspwave import lessons
from graspwave import simulator as sim
from graspwave.apps.command import main
from graspwave.lessons.bands import FILE, bands_of, keys_of
from graspwave.lessons.guessed import numbers_digest
from graspwave.lessons.spread import curves, spread
from graspwave.lessons.vocabulary import NAMES

SHIPPED = json.loads((Path(lessons.__file__).parent / FILE).read_text("utf-8"))
AGAIN = "graspwave check lessons/[0-9]*.md --arms 100 --bands lessons/bands.json"

ONE = small("One curve", "see one curve", 'hand = "t(wrist=0)"\nfar = "10 + 20"\nother = "5"', """## See

```see
kind = "curve"
scenes = { "held" = "hand" }
```

```see
kind = "lines"
x = [0, "far / 2", "far"]
y = { "free" = "mm(t, array([0, far / 2, far]))" }
x_axis = ["Current", "mA"]
y_axis = ["Opening", "mm"]
quantity = "opening"
```
""")


def keys(text: str) -> list[str]:
    lesson, mistakes = lessons.read(text, "one.md")
    assert lesson is not None, mistakes
    return [key for picture in lesson.steps[0].pictures for key in keys_of(lesson, picture).values()]


def test_what_is_shipped_was_counted_with_the_numbers_and_the_curves_of_now() -> None:
    assert SHIPPED["numbers"] == numbers_digest(), AGAIN
    found = [lessons.load(slug) for slug in lessons.names()]
    there = {key for lesson in found for step in lesson.steps for picture in step.pictures
             for key in keys_of(lesson, picture).values()}
    assert there == set(SHIPPED["curves"]) | set(SHIPPED["without"]), AGAIN
    assert len(SHIPPED["without"]) <= 1
    assert SHIPPED["arms"] >= 100
    assert all(len(one["low"]) == len(one["high"]) == len(one["x"]) >= 2 for one in SHIPPED["curves"].values())


def test_the_curves_that_were_counted_are_those_of_the_model() -> None:
    """The curves of opening against current alone: lines over time are worked out with their lessons."""
    looked = 0
    for slug in ("claw", "object"):
        lesson = lessons.load(slug)
        kept = [tuple(one for one in step.pictures if one.kind == "curve") for step in lesson.steps]
        steps = tuple(dataclasses.replace(step, pictures=some) for step, some in zip(lesson.steps, kept, strict=True))
        only = dataclasses.replace(lesson, steps=steps)
        for key, (x, y) in curves(only, NAMES).items():
            usual = SHIPPED["curves"][key]
            assert np.max(np.abs(np.interp(usual["x"], x, y) - usual["usual"])) < 0.06, f"{slug}: {AGAIN}"  # four digits
            looked += 1
    assert looked >= 3


def test_a_curve_is_known_by_all_that_it_stands_on_and_by_nothing_else() -> None:
    assert len(set(keys(ONE))) == 2
    assert keys(ONE.replace('other = "5"', 'other = "6"').replace("One curve", "A curve")) == keys(ONE)
    for old, new, same in (("wrist=0", "wrist=10", 1), ("10 + 20", "10 + 21", 0), ('"held" = "hand"', '"held" = "t"', 1)):
        changed = [was == now for was, now in zip(keys(ONE), keys(ONE.replace(old, new)), strict=True)]
        assert changed == [same == 0, same == 1], old
    assert keys(ONE.replace('"held" = "hand" }', '"held" = "hand" }\ncover = true')) == keys(ONE)[1:]
    assert keys(ONE.replace('quantity = "opening"', 'quantity = "angle"')) == keys(ONE)[:1]


def test_eight_in_ten_arms_lie_between() -> None:
    """Of 0, 1, ... 10 a tenth lies at 1 and nine tenths at 9; one arm in twenty that fails is left out, one in five too many."""
    usual = {"a": ([0.0, 2.0], [5.0, 50.0])}
    arms = [{"a": ([0.0, 1.0, 2.0], [float(i), 7.0, 10.0 * i])} for i in range(11)]
    found = spread(usual, arms)["a"]
    assert found == {"of": 11, "x": [0.0, 2.0], "usual": [5.0, 50.0], "low": [1.0, 10.0], "high": [9.0, 90.0]}
    assert spread(usual, [*arms, {}])["a"]["of"] == 11
    assert spread(usual, [*arms, {}, {}, {}]) == {}
    backwards = {"a": ([2.0, 0.0], [50.0, 5.0])}
    assert spread(backwards, arms)["a"] == found


def test_the_command_writes_them_and_says_how_many_arms(tmp_path: Path) -> None:
    file, out = tmp_path / "01-one.md", tmp_path / "bands.json"
    file.write_text(ONE, "utf-8")
    assert main(["check", str(file), "--arms", "2", "--bands", str(out)]) == 0
    table = json.loads(out.read_text("utf-8"))
    assert (table["arms"], table["numbers"], set(table["curves"])) == (2, numbers_digest(), set(keys(ONE)))
    held = table["curves"][keys(ONE)[0]]
    assert held["of"] == 2
    assert max(b - a for a, b in zip(held["low"], held["high"], strict=True)) > 0.1, "both arms are the same"
    assert all(a <= b for a, b in zip(held["low"], held["high"], strict=True))


def test_another_number_of_the_model_is_told_from_the_one_it_was_counted_with(monkeypatch: pytest.MonkeyPatch) -> None:
    before = numbers_digest()
    record = sim.all_facts()["recruitment.axon.spread_ln"]
    for changed in (dataclasses.replace(record, value=record.value * 1.01), dataclasses.replace(record, range=(0.0, 9.0))):
        monkeypatch.setitem(sim.all_facts(), record.name, changed)
        numbers_digest.cache_clear()
        assert numbers_digest() != before
        lesson = lessons.load("claw")
        from graspwave.lessons.bands import shipped

        shipped.cache_clear()
        curve = next(one for step in lesson.steps for one in step.pictures if keys_of(lesson, one))
        assert bands_of(lesson, curve) == {}
        monkeypatch.undo()
        numbers_digest.cache_clear()
        shipped.cache_clear()
    assert numbers_digest() == before
    assert bands_of(lesson, curve) != {}
