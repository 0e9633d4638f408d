"""Records of a lesson: as it is written, as it is computed, and the mistakes that are found in it.

`Lesson` holds what the file says, each expression with the line it stands on. `Computed` holds what the simulator made of
it: scenes, numbers, texts with their numbers filled in, and the right answers.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Any

from graspwave import simulator as sim

__all__ = [
    "CURVES", "LOOK", "MARKS", "MEASURES", "PICTURES", "QUANTITIES", "QUESTIONS", "SHAPES", "STEPS", "WHEN", "Alone", "Band",
    "Basis", "Choice", "Computed", "Goal", "Lesson", "LessonError", "Mistake", "Picture", "Question", "Right", "Said", "Step",
    "WrittenAlone", "WrittenChoice", "WrittenGoal", "WrittenPicture", "WrittenQuestion", "WrittenSaid", "WrittenStep",
    "WrongIdea", "Written",
]

STEPS = ("tell", "ask", "talk", "roam")
"""Kinds of steps."""

QUESTIONS = ("one", "several", "number", "place", "order")
"""Kinds of questions."""

PICTURES = ("curve", "hand", "lines", "bars", "why", "strips", "forearm", "pulse", "words")
"""Kinds of pictures."""

WHEN = ("start", "look", "reveal")
"""When a picture is shown: with the step, after the votes but before any reason, or with the reason."""

SHAPES: dict[str, dict[str, str]] = {
    "curve": {"scenes": "scenes!", "at": "number", "object_mm": "number", "cover": "flag"},
    "hand": {"scene": "scene!", "at": "number", "from": "number", "to": "number", "play_s": "number"},
    "lines": {
        "x": "array!", "y": "arrays!", "x_axis": "axis!", "y_axis": "axis!", "quantity": "quantity", "dots": "flag",
        "points": "points",
    },
    "bars": {"values": "numbers!", "unit": "plain", "quantity": "quantity", "digits": "number"},
    "why": {"before": "scene!", "after": "scene!"},
    "strips": {"runs": "runs!", "minutes": "number"},
    "forearm": {"scene": "scene", "scenes": "scenes", "muscles": "plains"},
    "pulse": {"scenes": "scenes!", "from_us": "number", "to_us": "number"},
    "words": {"lines": "texts!"},
}
"""Keys of each kind of picture and what each holds; ``!`` marks those that must be given."""

CURVES = ("so far", "whole")
"""What a bench draws of opening against current: what the person has passed through, or all of it."""

MEASURES = ("current_ma", "opening_mm", "wrist_deg", "base_deg", "middle_deg")
"""What a goal of a bench can be about, each from a lowest to a highest value."""

QUANTITIES = ("current", "force", "angle", "opening")
"""Quantities that have a colour."""

MARKS = ("published", "memory", "derived", "practice", "demo", "gap")
"""What stands behind a lesson: seen in its source, recalled, worked out, common practice, invented, or not known."""

LOOK = "What did you see?"
"""What is asked when a picture opens, unless the lesson asks something else."""

Right = str | tuple[str, ...] | dict[str, float | None]
"""The right answer: a key; keys; ``value`` and ``tolerance``; ``x``, ``y``, ``within_x``, ``within_y`` (y may be None)."""


@dataclass(frozen=True, slots=True)
class Mistake:
    """One thing that is wrong in a lesson.

    Attributes
    ----------
    file : str
        As it was given.
    line : int
        In that file, from 1.
    what : str
        ``'name' must be <rule> (got <value>)``.
    repair : str
        What to do about it, a sentence.
    """

    file: str
    line: int
    what: str
    repair: str

    def __str__(self) -> str:
        return f"{self.file}:{self.line}: {self.what}. {self.repair}".rstrip()


class LessonError(ValueError):
    """A lesson that cannot be used; `mistakes` holds all that is wrong."""

    def __init__(self, mistakes: tuple[Mistake, ...]) -> None:
        self.mistakes = mistakes
        super().__init__("\n".join(str(mistake) for mistake in mistakes))


@dataclass(frozen=True, slots=True)
class Written:
    """What stands in a file under a key: an expression, a number, a list or a text, with its place."""

    value: Any
    key: str
    line: int


@dataclass(frozen=True, slots=True)
class WrittenChoice:
    """A choice as the file has it; `condition` is its `right_if`, or its `place` in an order."""

    key: str
    line: int
    says: Written
    because: Written
    belief: str
    condition: Written | None
    hand: Written | None


@dataclass(frozen=True, slots=True)
class WrittenSaid:
    """What is to be said to an answer that is no choice: a number between two, or an order with one key before another."""

    line: int
    low: Written | None
    high: Written | None
    before: tuple[str, str] | None
    because: Written
    belief: str


@dataclass(frozen=True, slots=True)
class WrittenGoal:
    """What a bench is to reach: `within` holds lowest and highest of some `MEASURES`, `claw` what the hand must be, or None."""

    line: int
    says: Written
    within: dict[str, tuple[Written, Written]]
    claw: bool | None


@dataclass(frozen=True, slots=True)
class WrittenAlone:
    """A step for somebody without a room; `needs` lists words of which one each must be written."""

    line: int
    text: Written
    write: Written
    needs: tuple[tuple[str, ...], ...]
    grade: float | None
    passes: Written


@dataclass(frozen=True, slots=True)
class WrittenPicture:
    """A picture as the file has it; `keys` are those of its kind."""

    kind: str
    line: int
    when: str
    title: Written
    text: Written
    keys: dict[str, Written]


@dataclass(frozen=True, slots=True)
class WrittenQuestion:
    """A question as the file has it; `keys` are those of number and place."""

    kind: str
    line: int
    asks: Written
    choices: tuple[WrittenChoice, ...]
    right: Written | None
    keys: dict[str, Written]
    unit: str
    on: WrittenPicture | None
    said: tuple[WrittenSaid, ...] = ()
    unsteady: bool = False


@dataclass(frozen=True, slots=True)
class WrittenStep:
    """A step as the file has it. `minutes` 0 is a share of what the other steps leave."""

    number: int
    title: str
    line: int
    kind: str
    minutes: float
    text: Written
    say: Written
    scene: Written | None
    free: tuple[Written, ...]
    pictures: tuple[WrittenPicture, ...]
    question: WrittenQuestion | None
    look: Written
    reveal: Written
    curve: str = CURVES[0]
    goals: tuple[WrittenGoal, ...] = ()
    alone: WrittenAlone | None = None


@dataclass(frozen=True, slots=True)
class Basis:
    """One thing that a lesson rests on, with one of `MARKS`."""

    text: str
    mark: str


@dataclass(frozen=True, slots=True)
class WrongIdea:
    """A belief that people hold, by its key in ``misconceptions.toml``."""

    key: str
    text: str


@dataclass(frozen=True, slots=True)
class Lesson:
    """A lesson as its file has it. `digest` changes with every character of the file."""

    file: str
    slug: str
    digest: str
    title: str
    minutes: float
    short: tuple[int, ...]
    people: tuple[str, ...]
    objectives: tuple[str, ...]
    prior: str
    wrong_ideas: tuple[WrongIdea, ...]
    basis: tuple[Basis, ...]
    limits: tuple[str, ...]
    cautions: tuple[str, ...]
    names: tuple[Written, ...]
    steps: tuple[WrittenStep, ...]

    @property
    def named(self) -> dict[str, Any]:
        """What is written under each of its names."""
        return {written.key.rpartition(".")[2]: written.value for written in self.names}


@dataclass(frozen=True, slots=True)
class Band:
    """Where eight in ten of `of` other arms lie about a curve: from `low` to `high` at each `x`."""

    of: int
    x: tuple[float, ...]
    low: tuple[float, ...]
    high: tuple[float, ...]


@dataclass(frozen=True, slots=True)
class Picture:
    """A picture with its values.

    `values` by kind (arrays are tuples of float; a table keeps its order; what was left out is None, False or empty):

    - curve: `scenes` {label: Scene}, `at`, `object_mm`, `cover`
    - hand: `scene`, and `at`, or `from` and `to`, or `play_s`
    - lines: `x`, `y` {label: array}, `x_axis` (name, unit), `y_axis`, `quantity`, `dots`, `points` {label: (x, y)}
    - bars: `values` {label: float}, `unit`, `quantity`
    - why: `before`, `after` (Scene)
    - strips: `runs` {label: Practice}, `minutes`
    - forearm: `scenes` {label: Scene}, `muscles`
    - pulse: `scenes` {label: Scene}, `from_us`, `to_us`
    - words: `lines` (Markdown)

    `bands` holds, by label, how far curves of opening lie off in other arms, where that was counted.
    """

    kind: str
    title: str
    text: str
    when: str
    values: dict[str, Any]
    bands: dict[str, Band] = field(default_factory=dict)


@dataclass(frozen=True, slots=True)
class Choice:
    """A choice: `says` and `because` are Markdown, `belief` the key of a wrong idea or empty, `scene` a small hand."""

    key: str
    says: str
    because: str
    belief: str
    scene: sim.Scene | None


@dataclass(frozen=True, slots=True)
class Said:
    """What is said to a number from `low` to `high`, or to an order in which `before`'s first key stands before its second."""

    low: float | None
    high: float | None
    before: tuple[str, str] | None
    because: str
    belief: str


@dataclass(frozen=True, slots=True)
class Goal:
    """What a bench is to reach: lowest and highest value of each of some `MEASURES`; `claw` True, False or None, either."""

    says: str
    within: dict[str, tuple[float, float]]
    claw: bool | None


@dataclass(frozen=True, slots=True)
class Alone:
    """What somebody without a room does in a step, and how the own words are judged.

    `text` (Markdown) stands for the step's text, or is empty; `write` is the label of a field, or empty; of every tuple of
    `needs` one word must be there; `grade` is the highest school grade; `passes` is an answer that passes (Markdown).
    """

    text: str
    write: str
    needs: tuple[tuple[str, ...], ...]
    grade: float | None
    passes: str


@dataclass(frozen=True, slots=True)
class Question:
    """A question with its right answer, which the simulator gave; `arms` says in how many other arms, such as ``93 of 100``."""

    kind: str
    asks: str
    choices: tuple[Choice, ...]
    right: Right
    low: float | None
    high: float | None
    step: float | None
    unit: str
    on: Picture | None
    said: tuple[Said, ...] = ()
    unsteady: bool = False
    arms: str = ""


@dataclass(frozen=True, slots=True)
class Step:
    """A step with everything in it computed; texts are Markdown."""

    number: int
    title: str
    kind: str
    minutes: float
    text: str
    say: str
    scene: sim.Scene | None
    free: tuple[str, ...]
    pictures: tuple[Picture, ...]
    question: Question | None
    look: str
    reveal: str
    curve: str = CURVES[0]
    goals: tuple[Goal, ...] = ()
    alone: Alone | None = None


@dataclass(frozen=True, slots=True)
class Computed:
    """A lesson ready to be shown. Texts are Markdown, for `graspwave.lessons.html`."""

    slug: str
    title: str
    digest: str
    minutes: float
    short: tuple[int, ...]
    people: tuple[str, ...]
    objectives: tuple[str, ...]
    prior: str
    wrong_ideas: tuple[WrongIdea, ...]
    basis: tuple[Basis, ...]
    limits: tuple[str, ...]
    cautions: tuple[str, ...]
    steps: tuple[Step, ...]
