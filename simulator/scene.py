"""What a person sets, and nothing else: the first stage of the chain.

A `Scene` is a tree of frozen records that only hold settings. It is read from and written to TOML with the units in
the key names, and every check of input stands here: later stages trust what they are given. Defaults and ranges are
the records of ``facts/settings.toml``.
"""

from __future__ import annotations

import dataclasses
import difflib
import json
import math
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from numbers import Real
from pathlib import Path
from typing import Any, Self, cast

from graspwave.simulator import guarded
from graspwave.simulator.facts import Fact, fact, facts_under

__all__ = [
    "MECHANISMS",
    "Channel",
    "Hand",
    "Pads",
    "Pulse",
    "Ramp",
    "Scene",
    "SceneError",
    "Session",
    "Task",
    "Timing",
    "Train",
    "checked_scene",
    "setting",
]

MECHANISMS = ("recruitment", "wrist", "slips", "spread", "reflex", "tone", "length", "tiring", "own_effort")
"""The names of the mechanisms whose effect can be told apart."""

SWITCHES = ("slips", "spread", "reflex", "tone", "length", "tiring", "own_effort")
"""Mechanisms that a scene can do without on its own; the rest need a second scene to be held against."""


_LEAST = 1e-9
"""A number nearer to nothing than this is nothing: no setting means anything so small, and a ratio of two would overflow."""


class SceneError(ValueError):
    """A setting that cannot be used.

    Parameters
    ----------
    name : str
        Path of the setting.
    rule : str
        What it must be.
    got : object
        What was found.
    repair : str, optional
        What to do about it.
    """

    def __init__(self, name: str, rule: str, got: object, repair: str = "") -> None:
        self.name, self.rule, self.got, self.repair = name, rule, got, repair
        shown = got if isinstance(got, str) and " " in got else _shown(got)
        super().__init__(f"'{name}' must be {rule} (got {shown})" + (f": {repair}" if repair else ""))

    def __reduce__(self) -> tuple[type[SceneError], tuple[object, ...]]:
        """What it is made of, so that it comes whole out of another process."""
        return SceneError, (self.name, self.rule, self.got, self.repair)

    def under(self, prefix: str) -> SceneError:
        """The same error with the place it was found in led by `prefix`."""
        return SceneError(f"{prefix}.{self.name}" if self.name else prefix, self.rule, self.got, self.repair)


def _shown(got: object) -> str:
    if isinstance(got, float):
        return f"{got:g}"
    if isinstance(got, str):
        return repr(got if len(got) <= 40 else got[:37] + "...")
    text = str(got)
    return text if len(text) <= 60 else text[:57] + "..."


def _number(name: str, *, optional: bool = False, whole: bool = False) -> Any:
    record = fact(f"settings.{name}")
    default = None if optional else record.value
    return field(default=default, metadata={"fact": record, "optional": optional, "whole": whole})


def _choice(default: str, *allowed: str) -> Any:
    return field(default=default, metadata={"choices": (default, *allowed)})


class _Section:
    """Checks every field of a record against its metadata when it is made."""

    def __post_init__(self) -> None:
        for f in dataclasses.fields(cast("Any", self)):
            object.__setattr__(self, f.name, _checked(f, getattr(self, f.name)))


def _checked(f: dataclasses.Field[Any], value: object) -> object:
    """`value` in the field's own type, or a `SceneError` that names the field."""
    if "choices" in f.metadata:
        allowed = f.metadata["choices"]
        if not isinstance(value, str) or value not in allowed:
            near = difflib.get_close_matches(str(value), allowed, 1)
            raise SceneError(f.name, "one of " + ", ".join(allowed), value, f"did you mean {near[0]}?" if near else "")
        return value
    if "fact" in f.metadata:
        return _checked_number(f, value)
    if f.type == "bool":
        if type(value).__name__ in ("bool", "bool_"):  # numpy's as well
            return bool(value)
        raise SceneError(f.name, "true or false", value)
    wanted = globals().get(str(f.type))
    if isinstance(wanted, type) and not isinstance(value, wanted):
        raise SceneError(f.name, f"a {wanted.__name__} record", value, f"or change one setting of it: {f.name}.…")
    if f.type == "str" and not isinstance(value, str):
        raise SceneError(f.name, "text in quotes", value)
    return value


def _checked_number(f: dataclasses.Field[Any], value: object) -> object:
    record: Fact = f.metadata["fact"]
    low, high = record.range or (-math.inf, math.inf)
    unit = "" if record.unit == "1" else f" {record.unit}"
    if value is None and f.metadata["optional"]:
        return None
    if isinstance(value, bool) or not isinstance(value, Real):
        raise SceneError(f.name, f"a number in{unit}" if unit else "a number", value, "write it without quotes and unit")
    got = float(value)  # numpy's numbers become plain ones
    if not math.isfinite(got) or not low <= got <= high:
        raise SceneError(f.name, f"{low:g} to {high:g}", value)
    if f.metadata["whole"]:
        if got != int(got):
            raise SceneError(f.name, "a whole number", value)
        return int(got)
    return got if abs(got) >= _LEAST else 0.0


@dataclass(frozen=True, slots=True)
class Hand(_Section):
    """The forearm and hand. Lengths in mm, angles in degrees (flexion positive), tone and effort as share of full force.

    `wrist_held_deg` None leaves the wrist free; with `wrist_rests` forearm and palm lie on a table, fingers and thumb reach
    over its edge, and a free wrist cannot sink below it (with the palm up not bend back, sideways it does nothing).
    `flexor_length_factor` shortens fibre and tendon of the flexors.
    `reflex_gain` scales the stretch reflex, which acts in motion only; `help_opening` is the other hand's push.
    In a run `own_grip` is given up at `own_grip_until_s` and dies away with `switch_off_s`; None: it goes on.
    In practice `own_opening` is what the person drives at full effort, `own_grip` what they cannot help bending with,
    `grip_left` how hard they can close, `switch_on_s` and `switch_off_s` how late the flexors answer.
    """

    flexor_length_factor: float = _number("hand.flexor_length_factor")
    finger_tone: float = _number("hand.finger_tone")
    wrist_tone: float = _number("hand.wrist_tone")
    strength: float = _number("hand.strength")
    own_opening: float = _number("hand.own_opening")
    own_grip: float = _number("hand.own_grip")
    reflex_gain: float = _number("hand.reflex_gain")
    help_opening: float = _number("hand.help_opening")
    hand_length_mm: float = _number("hand.hand_length_mm")
    fat_mm: float = _number("hand.fat_mm")
    elbow_strength: float = _number("hand.elbow_strength")
    grip_left: float = _number("hand.grip_left")
    synergy: float = _number("hand.synergy")
    switch_on_s: float = _number("hand.switch_on_s")
    switch_off_s: float = _number("hand.switch_off_s")
    own_grip_until_s: float | None = _number("hand.own_grip_until_s", optional=True)
    forearm: str = _choice("pronated", "neutral", "supinated")
    wrist_held_deg: float | None = _number("hand.wrist_held_deg", optional=True)
    wrist_rests: bool = False


@dataclass(frozen=True, slots=True)
class Pads(_Section):
    """Two equal pads along the limb: middle of the pair, gap from edge to edge, area of each, leads swapped or not.

    `contact` is a fault to show: one pad whole, halved, lifted to a corner, or dried to spots.
    """

    along_percent: float = _number("pads.along_percent")
    around_deg: float = _number("pads.around_deg")
    spacing_mm: float = _number("pads.spacing_mm")
    size_cm2: float = _number("pads.size_cm2")
    swap: bool = False
    limb: str = _choice("forearm", "upper arm")
    shape: str = _choice("square", "round")
    contact: str = _choice("whole", "halved", "lifted", "dried")

    @property
    def side_mm(self) -> float:
        """Side of a square pad of this area, or diameter of a round one, mm."""
        return 10.0 * math.sqrt(self.size_cm2) * (2.0 / math.sqrt(math.pi) if self.shape == "round" else 1.0)

    @property
    def centres_mm(self) -> float:
        """Distance between the middles of the two pads, mm."""
        return self.spacing_mm + self.side_mm


@dataclass(frozen=True, slots=True)
class Pulse(_Section):
    """One pulse. `amplitude_ma` is the height of the first phase, `phase_us` its length, `gap_us` the pause after it."""

    amplitude_ma: float = _number("pulse.amplitude_ma")
    phase_us: float = _number("pulse.phase_us")
    gap_us: float = _number("pulse.gap_us")
    shape: str = _choice("symmetric", "asymmetric", "monophasic")
    phase_ratio: float = _number("pulse.phase_ratio")

    @property
    def second_phase(self) -> float:
        """Length of the second phase in lengths of the first; 0 where there is none."""
        return {"symmetric": 1.0, "asymmetric": self.phase_ratio, "monophasic": 0.0}[self.shape]


@dataclass(frozen=True, slots=True)
class Train(_Section):
    """How pulses follow each other: a steady rate, or two or three close ones first (`start`)."""

    frequency_hz: float = _number("train.frequency_hz")
    start: str = _choice("plain", "doublet", "triplet")
    leading_interval_ms: float = _number("train.leading_interval_ms")


@dataclass(frozen=True, slots=True)
class Ramp(_Section):
    """Rise and fall of the pulses at both ends of an on time, in amplitude or in phase duration (`of`)."""

    up_s: float = _number("ramp.up_s")
    down_s: float = _number("ramp.down_s")
    of: str = _choice("amplitude", "phase")


@dataclass(frozen=True, slots=True)
class Timing(_Section):
    """When a channel runs: a timed cycle, or while a switch is held.

    `ramps_inside` true (the default) counts both ramps inside `on_s`, so that a cycle lasts ``on_s + off_s``;
    false adds them to it.
    """

    control: str = _choice("cycle", "held")
    on_s: float = _number("timing.on_s")
    off_s: float = _number("timing.off_s")
    delay_s: float = _number("timing.delay_s")
    ramps_inside: bool = True


@dataclass(frozen=True, slots=True)
class Channel(_Section):
    """One pair of pads with its own pulses."""

    pads: Pads = Pads()
    pulse: Pulse = Pulse()
    train: Train = Train()
    ramp: Ramp = Ramp()
    timing: Timing = Timing()

    def __post_init__(self) -> None:
        super(Channel, self).__post_init__()
        t, p = self.train, self.pulse
        busy_us = p.phase_us + p.gap_us + p.phase_us * p.second_phase
        shortest_us = min(1e6 / t.frequency_hz, math.inf if t.start == "plain" else 1e3 * t.leading_interval_ms)
        if busy_us > shortest_us:
            raise SceneError(
                "pulse.phase_us", f"short enough to end before the next pulse ({shortest_us:g} us)", busy_us,
                "shorten phase or gap, or lower the frequency",
            )
        if self.timing.control == "cycle" and self.timing.ramps_inside:
            ramps = self.ramp.up_s + self.ramp.down_s
            if ramps > self.timing.on_s + 1e-9:
                raise SceneError(
                    "timing.on_s", f"at least both ramps together ({ramps:g} s)", self.timing.on_s,
                    "lengthen it, shorten the ramps, or set ramps_inside to false",
                )

    @property
    def on_total_s(self) -> float:
        """First pulse to end of the fall in one cycle, s."""
        return self.timing.on_s + (0.0 if self.timing.ramps_inside else self.ramp.up_s + self.ramp.down_s)

    @property
    def cycle_s(self) -> float:
        """Start of one on time to the start of the next, s."""
        return self.on_total_s + self.timing.off_s


@dataclass(frozen=True, slots=True)
class Task(_Section):
    """The object that the hand is to open round, where it goes, and how.

    `filled` makes a spill matter. `move` slides the object over the table or lifts it; `to` is across the bench, up to a
    shelf or up to the face. `arm` slides over the table or is lifted over it. `approach` from above lets the wrist drop.
    `presser` is who holds the switch; the other hand cannot press while it `lifts`. `let_go` is what comes first: an own
    try, a pictured try, or the stimulus at once; `side_to_side` lets go of an object that is wider than the hand opens.
    `current` is raised at set-up until the hand opens and no further, or taken as set.
    """

    object: str = "pot"
    diameter_mm: float = _number("task.diameter_mm")
    clearance_mm: float = _number("task.clearance_mm")
    mass_kg: float = _number("task.mass_kg")
    filled: bool = False
    distance_mm: float = _number("task.distance_mm")
    carry_mm: float = _number("task.carry_mm")
    place_mm: float = _number("task.place_mm")
    shoulder_above_mm: float = _number("task.shoulder_above_mm")
    friction: float = _number("task.friction")
    effort: float = _number("task.effort")
    reaction_s: float = _number("task.reaction_s")
    boost_ma: float = _number("task.boost_ma")
    move: str = _choice("lift", "slide")
    to: str = _choice("bench", "shelf", "face")
    arm: str = _choice("slides", "lifted")
    lean: bool = True
    approach: str = _choice("side", "above")
    presser: str = _choice("other hand", "helper")
    other_hand: str = _choice("rests", "lifts")
    let_go: str = _choice("own try", "pictured try", "at once")
    side_to_side: bool = False
    current: str = _choice("raised", "as set")


@dataclass(frozen=True, slots=True)
class Session(_Section):
    """How long it lasts, a warm-up of gentle stimulation before the task, and the seed of every random draw."""

    minutes: float = _number("session.minutes")
    warm_up_minutes: float = _number("session.warm_up_minutes")
    warm_up_share: float = _number("session.warm_up_share")
    seed: int = _number("session.seed", whole=True)


@dataclass(frozen=True, slots=True)
class Scene(_Section):
    """Everything a person sets. Frozen: a change makes a new scene.

    Examples
    --------
    >>> scene = Scene(channel=(Channel(),))
    >>> scene.replace("channel.0.pulse.amplitude_ma", 30).channel[0].pulse.amplitude_ma
    30.0
    """

    title: str = "untitled"
    story: str = ""
    hand: Hand = Hand()
    channel: tuple[Channel, ...] = (Channel(),)
    task: Task = Task()
    session: Session = Session()
    without_mechanisms: tuple[str, ...] = ()

    def __post_init__(self) -> None:
        super(Scene, self).__post_init__()
        if not isinstance(self.channel, (tuple, list)) or not all(isinstance(one, Channel) for one in self.channel):
            raise SceneError("channel", "one or two Channel records, in ( )", self.channel, "or change one: channel.0.pulse.…")
        object.__setattr__(self, "channel", tuple(self.channel))
        if not isinstance(self.without_mechanisms, (tuple, list)):
            raise SceneError("without_mechanisms", "mechanisms in ( )", self.without_mechanisms)
        object.__setattr__(self, "without_mechanisms", tuple(self.without_mechanisms))
        if not 1 <= len(self.channel) <= 2:
            raise SceneError("channel", "one or two channels", len(self.channel), "add [[channel]]")
        for name in self.without_mechanisms:
            if name not in SWITCHES:
                raise SceneError("without_mechanisms", "mechanisms of " + ", ".join(SWITCHES), name)

    @classmethod
    def load(cls, path: str | Path) -> Scene:
        """Read a scene from a TOML file.

        Raises
        ------
        SceneError
            The file is no UTF-8 text, no TOML, or holds a setting that cannot be used.
        OSError
            The file cannot be read.
        """
        try:
            text = guarded.read_text(path)
        except guarded.Refused as no:
            raise SceneError("scene", no.rule, no.got, no.repair) from None
        return cls.loads(text)

    @classmethod
    def loads(cls, text: str) -> Scene:
        """Read a scene from TOML text; `SceneError` says what is wrong with which key."""
        try:
            tree = guarded.parsed_toml(text)
        except guarded.Refused as no:
            raise SceneError("scene", no.rule, no.got, no.repair) from None
        if "channel" not in tree:
            raise SceneError("channel", "given at least once", "no channel", "add [[channel]]")
        return cast("Scene", _built(cls, tree))

    def dumps(self) -> str:
        """The scene as TOML; `Scene.loads` of it is equal to the scene."""
        return "\n".join(_toml_lines(self)) + "\n"

    @classmethod
    def read(cls, path: str | Path) -> Scene:
        """The same as `load`: the scene in a TOML file."""
        return cls.load(path)

    def save(self, path: str | Path) -> None:
        """Write the scene to a TOML file. A scene file that is there keeps its comments and order; only what differs changes.

        Parameters
        ----------
        path : str or Path

        Raises
        ------
        SceneError
            There is a file at `path` that holds something else than a scene; it stays as it is.
        OSError
            The file cannot be written.

        Examples
        --------
        >>> import tempfile, pathlib
        >>> path = pathlib.Path(tempfile.mkdtemp()) / "mine.toml"
        >>> _ = path.write_text("# why so gentle\\n[[channel]]\\npulse.amplitude_ma = 12 # felt at 9\\n")
        >>> Scene.read(path).replace("channel.0.pulse.amplitude_ma", 14).save(path)
        >>> "# why so gentle" in path.read_text(), "14.0 # felt at 9" in path.read_text()
        (True, True)
        """
        from graspwave.simulator.scene_file import save

        save(self, path)

    def with_channel(self, settings: Channel | Mapping[str, object], index: int = 1) -> Scene:
        """A new scene with a second channel, or with another first one.

        Parameters
        ----------
        settings : Channel or mapping of str to object
            A whole channel; or settings of it by path (``pulse.amplitude_ma``), the rest as in the channel that is there, or in
            the first where there is none. They are set together, so their order does not matter.
        index : int, default 1
            0 or 1.

        Examples
        --------
        >>> two = Scene().with_channel({"pads.limb": "upper arm", "pulse.amplitude_ma": 12})
        >>> len(two.channel), two.channel[1].pads.limb, two.channel[0].pads.limb
        (2, 'upper arm', 'forearm')
        """
        if isinstance(index, bool) or index not in (0, 1):
            raise SceneError("index", "0 or 1", index, "count channels from 0")
        if not isinstance(settings, (Channel, Mapping)):
            raise SceneError("settings", "a Channel, or settings by path in { }", settings)
        start = self.channel[min(index, len(self.channel) - 1)]
        try:
            made = settings if isinstance(settings, Channel) else _with_settings(start, settings)
        except SceneError as error:
            raise error.under(f"channel.{index}") from None
        return dataclasses.replace(self, channel=(*self.channel[:index], made, *self.channel[index + 1:]))

    def replace(self, path: str, value: object) -> Scene:
        """A new scene with one setting changed.

        Parameters
        ----------
        path : str
            Dotted path of the setting, for example ``channel.0.pulse.amplitude_ma``.
        value : object
            Its new value; ``None`` for a setting that may be absent.
        """
        return cast("Scene", _replaced(self, path.split("."), value, path))

    def without(self, *mechanisms: str) -> Self:
        """A new scene in which these mechanisms are switched off, for demonstrations."""
        kept = tuple(name for name in SWITCHES if name in (*self.without_mechanisms, *mechanisms))
        unknown = [name for name in mechanisms if name not in SWITCHES]
        if unknown:
            raise SceneError("mechanism", "one of " + ", ".join(SWITCHES), unknown[0])
        return dataclasses.replace(self, without_mechanisms=kept)


_TABLES = {"hand": Hand, "task": Task, "session": Session, "pads": Pads, "pulse": Pulse, "train": Train,
           "ramp": Ramp, "timing": Timing}


def checked_scene(scene: object) -> Scene:
    """The scene, or one clear error where something else was handed in."""
    if not isinstance(scene, Scene):
        raise SceneError("scene", "a Scene", scene, "for example presets()['tight'], or Scene.read(path)")
    return scene


def setting(path: str) -> Fact:
    """The record behind a numeric setting (default, unit, range, mark), by a path such as ``channel.0.pulse.phase_us``.

    Raises
    ------
    SceneError
        No numeric setting has that path.

    Examples
    --------
    >>> setting("channel.0.pulse.phase_us").unit
    'us'
    """
    short = ".".join(part for part in str(path).split(".") if part != "channel" and not part.isdigit())
    known = [name.removeprefix("settings.") for name in facts_under("settings")]
    if short not in known:
        near = difflib.get_close_matches(short, known, 1, 0.5)
        raise SceneError(str(path), "the path of a numeric setting", "unknown path", f"did you mean {near[0]}?" if near else "")
    return fact(f"settings.{short}")


def _with_settings(channel: Channel, settings: Mapping[str, object]) -> Channel:
    """A channel with several settings changed together."""
    sections: dict[str, dict[str, object]] = {}
    for path, value in settings.items():
        section, _, name = str(path).partition(".")
        if section not in _PARTS or name not in {f.name for f in dataclasses.fields(_TABLES[section])}:
            names = [f"{part}.{f.name}" for part in _PARTS for f in dataclasses.fields(_TABLES[part])]
            near = difflib.get_close_matches(str(path), names, 1, 0.5)
            raise SceneError(str(path), "a known setting", "unknown key", f"did you mean {near[0]}?" if near else "")
        sections.setdefault(section, {})[name] = value
    made: dict[str, object] = {}
    for section, values in sections.items():
        try:
            made[section] = dataclasses.replace(getattr(channel, section), **values)
        except SceneError as error:
            raise error.under(section) from None
    return dataclasses.replace(channel, **cast("Any", made))


_PARTS = ("pads", "pulse", "train", "ramp", "timing")


def _built(cls: type[Any], tree: object) -> object:
    """A record of `cls` from parsed TOML; errors are led by the place they were found in."""
    if not isinstance(tree, dict):
        raise SceneError("", "a table", tree)
    known = [f.name for f in dataclasses.fields(cls)]
    given: dict[str, object] = {}
    for key, value in tree.items():
        if key not in known:
            near = difflib.get_close_matches(key, known, 1, 0.5)
            repair = f"did you mean {near[0]}?" if near else "known: " + ", ".join(known)
            raise SceneError(key, "a known key", "unknown key", repair)
        given[key] = _built_value(key, value)
    return cls(**given)


def _built_value(key: str, value: object) -> object:
    if key in _TABLES:
        try:
            return _built(_TABLES[key], value)
        except SceneError as error:
            raise error.under(key) from None
    if key == "channel":
        if not isinstance(value, list):
            raise SceneError(key, "written [[channel]]", value, "use double brackets")
        return tuple(_built_channel(i, item) for i, item in enumerate(value))
    if key == "without_mechanisms":
        if not isinstance(value, list) or not all(isinstance(name, str) for name in value):
            raise SceneError(key, "a list of names", value)
        return tuple(value)
    return value


def _built_channel(index: int, tree: object) -> Channel:
    try:
        return cast("Channel", _built(Channel, tree))
    except SceneError as error:
        raise error.under(f"channel.{index}") from None


def _replaced(node: Any, keys: list[str], value: object, path: str) -> object:
    key, rest = keys[0], keys[1:]
    if isinstance(node, tuple):
        if not key.isdigit() or int(key) >= len(node):
            raise SceneError(path, f"a path to one of {len(node)} channels", key)
        i = int(key)
        return (*node[:i], _replaced(node[i], rest, value, path), *node[i + 1:])
    known = [f.name for f in dataclasses.fields(node)] if dataclasses.is_dataclass(node) else []
    if key not in known:
        near = difflib.get_close_matches(key, known, 1, 0.5)
        raise SceneError(path, "a known setting", "unknown key", f"did you mean {near[0]}?" if near else "")
    new = _replaced(getattr(node, key), rest, value, path) if rest else value
    try:
        return dataclasses.replace(node, **{key: new})
    except SceneError as error:
        owner = path.split(".")[: len(path.split(".")) - len(keys)]
        raise (error.under(".".join(owner)) if owner else error) from None


def _toml_lines(node: Any, table: str = "") -> Iterator[str]:
    """Plain keys first, then tables, as TOML wants it."""
    below: list[tuple[str, Any]] = []
    for f in dataclasses.fields(node):
        value = getattr(node, f.name)
        if dataclasses.is_dataclass(value) or f.name == "channel":
            below.append((f.name, value))
        elif value is not None:
            yield f"{f.name} = {_toml_value(value)}"
    for name, value in below:
        path = f"{table}.{name}" if table else name
        for item in value if isinstance(value, tuple) else (value,):
            yield ""
            yield f"[[{path}]]" if isinstance(value, tuple) else f"[{path}]"
            yield from _toml_lines(item, path)


def _toml_value(value: object) -> str:
    if isinstance(value, bool):
        return "true" if value else "false"
    if isinstance(value, str):
        return json.dumps(value, ensure_ascii=False).replace("\x7f", "\\u007f")
    if isinstance(value, tuple):
        return "[" + ", ".join(_toml_value(item) for item in value) + "]"
    return repr(value)
