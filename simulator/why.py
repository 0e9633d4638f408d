"""Two scenes -> why their openings differ: the change shared out among the mechanisms, in millimetres that add up.

Stage ``why``, after ``run``. Shares are Shapley values: a mechanism's share is its effect on the opening, averaged over
all orders in which the mechanisms can pass from the first scene to the second. They add up to the whole change, a
mechanism without effect gets nothing, and no order is preferred.

What it means that a mechanism has not passed yet:

- recruitment: the openers have their drive of before (share recruited x fused pull), those of the thumb among them;
- wrist: the wrist is held at its angle of before; passed, it is as the second scene has it, free, held or resting there;
- slips: they carry the part of the extensor's force that slack left them before, wherever the MCP goes;
- spread: the closers have their drive of before, the thumb's among them;
- tone, length, own_effort: have their value of before;
- hand: strength, size, turn of the forearm and help from the other hand are those of before.

How the slips keep their slack of before is told in `simulator.hand.slack`: with nothing passed, nothing has moved.

The picture is steady: the reflex answers speed and tiring needs time, so neither has a share here.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from typing import Any

import numpy as np
from numpy.typing import NDArray

from graspwave.simulator import hand as mechanics
from graspwave.simulator import show
from graspwave.simulator.adding import adding_up
from graspwave.simulator.driving import HAND_MUSCLES, drive_of_hand, effective_hand, full_force_n, hand_pools
from graspwave.simulator.facts import number
from graspwave.simulator.field import finger_slips
from graspwave.simulator.hand import changed, scene_hand
from graspwave.simulator.hand.drives import drive_rows
from graspwave.simulator.hand.layout import hand_constants
from graspwave.simulator.hand.posture import angles_rad, openings_mm
from graspwave.simulator.hand.slack import slack_left
from graspwave.simulator.lagging import Lagging, lagging_of
from graspwave.simulator.recruitment import CLOSERS, OPENERS
from graspwave.simulator.results import Result
from graspwave.simulator.rising import risen
from graspwave.simulator.scene import Hand, Scene
from graspwave.simulator.shapley import shapley
from graspwave.simulator.words import Said, said

__all__ = ["PARTS", "REST", "Why", "amount_said", "explain_opening"]

Array = NDArray[np.float64]

PARTS = ("recruitment", "wrist", "slips", "spread", "tone", "length", "own_effort", "hand")
"""Mechanisms that can have a share. ``hand`` is no mechanism to switch off but a change of person or of posture."""

_TOLD_MM = 0.5
"""A smaller share is told as no change: it rounds to zero."""

REST = "rest"
"""Shares too small to tell, taken together."""

_SAME = 1e-9
_TURNED_DEG = 1.0
"""A smaller turn of the wrist is not told as a direction."""


@dataclass(frozen=True, slots=True, eq=False, repr=False)
class Why(Result):
    """Why the opening of two scenes differs.

    Attributes
    ----------
    total_mm : float
        Opening after less opening before; negative where the hand lost.
    shares : dict of str to float
        By mechanism of `PARTS`, only those that differ, mm; they add up to `total_mm`.
    said : Said
        The whole in one sentence; `text` tells it in English.
    said_of : dict of str to Said
        One sentence for each share; `sentences` tells them in English.
    before_mm, after_mm : float
        The openings.
    label_of : dict of str to Said
        A few words for each share, for the row of a table; `labels` tells them in English.
    fingers : Lagging
        What each finger takes from the second scene's opening because its own openers are less reached than another's; apart from
        the shares, which are of the change.
    """

    total_mm: float
    shares: dict[str, float]
    said: Said
    said_of: dict[str, Said]
    before_mm: float
    after_mm: float
    label_of: dict[str, Said]
    fingers: Lagging = field(default_factory=Lagging)

    @property
    def told_mm(self) -> dict[str, int]:
        """Shares as they are told: whole millimetres that add up to `told_total_mm`; `REST` are those too small, if they show."""
        return _told(self.shares, self.total_mm, self.told_total_mm)

    @property
    def told_total_mm(self) -> int:
        """The change as it is told: the opening after, in whole millimetres, less that before."""
        return round(self.after_mm) - round(self.before_mm)

    @property
    def text(self) -> str:
        """The whole in one sentence."""
        return self.said.told("en")

    @property
    def sentences(self) -> dict[str, str]:
        """One sentence for each share."""
        return {name: told.told("en") for name, told in self.said_of.items()}

    @property
    def labels(self) -> dict[str, str]:
        """A few words for each share."""
        return {name: told.told("en") for name, told in self.label_of.items()}

    def _said(self) -> list[str]:
        shared = ", ".join(f"{self.labels[name].lower()} {mm:+.1f}" for name, mm in self.shares.items())
        return [
            f"Why the opening changes by {self.total_mm:+.1f} mm, from {self.before_mm:.1f} to {self.after_mm:.1f} mm",
            f"shares in mm: {shared or 'none'}", self.text,
        ]

    def _drawn(self, figure: Any, **look: Any) -> Any:
        shares = {self.labels[name]: mm for name, mm in self.shares.items()}
        return show.bars("Why the opening changes", "Share of the change [mm]", shares, figure, **look)

    def _columns(self) -> Mapping[str, Any]:
        return {
            "mechanism": list(self.shares), "share [mm]": list(self.shares.values()),
            "said": [self.sentences[name] for name in self.shares],
        }


@dataclass(frozen=True, slots=True)
class _Held:
    """What the mechanics reads of a hand; unlike a scene's hand it may be held wherever a free wrist can go.

    Tone is given beside the drive, so that hands that differ in it alone are solved together.
    """

    flexor_length_factor: float
    hand_length_mm: float
    forearm: str
    wrist_held_deg: float | None
    finger_tone: float = 0.0
    wrist_tone: float = 0.0
    help_opening: float = 0.0
    reflex_gain: float = 0.0
    wrist_rests: bool = False


@dataclass(frozen=True, slots=True)
class _Side:
    """One of the two scenes, as far as the posture depends on it."""

    scene: Scene
    hand: Hand
    seen: mechanics.Posture
    drive: dict[str, float]
    used: dict[str, Array]

    @property
    def slack(self) -> bool:
        return "slips" not in self.scene.without_mechanisms

    @property
    def opening_mm(self) -> float:
        return float(self.seen.opening_mm[0])

    @property
    def wrist_deg(self) -> float:
        return float(self.seen.angle_deg["wrist"][0])


def explain_opening(before: Scene, after: Scene) -> Why:
    """Share out the change of the opening between two scenes.

    Parameters
    ----------
    before, after : Scene
        Each is looked at with its own amplitudes, at rest and untired, as `opening_curve` does.

    Returns
    -------
    Why

    Notes
    -----
    Shapley value (Shapley 1953): ``phi_i = sum_S |S|! (n - |S| - 1)! / n! [v(S + i) - v(S)]`` over all sets S of the
    mechanisms that differ, with v the change of the opening when those in S have passed to the second scene and the
    others have not. All sets are walked to their postures in one call.

    Shares hold for this pair of scenes: from A to B and then to C they need not be the sums of those from A to C. From
    after to before the total changes its sign; single shares may also differ in size, since the wrist is then held
    at another angle. A hand that is shut has an opening of zero, however hard it is pressed: what only presses a
    shut hand has no share.

    Examples
    --------
    >>> from graspwave import simulator as sim
    >>> tight = sim.presets()["tight"]
    >>> why = sim.explain_opening(tight, tight.replace("channel.0.pulse.amplitude_ma", 30))
    >>> abs(sum(why.shares.values()) - why.total_mm) < 1e-6
    True
    """
    one, two = _side(before), _side(after)
    parts = _parts_that_differ(one, two)
    opening = _openings(parts, one, two)
    # both ends are known: rounding of the solver must not stand between the shares and the change
    opening[0], opening[-1] = one.opening_mm, two.opening_mm
    shares = shapley(parts, opening)
    total, whole = two.opening_mm - one.opening_mm, round(two.opening_mm) - round(one.opening_mm)
    told = _told(shares, total, whole)
    return Why(
        total_mm=total, shares=shares, said=_summary(one, two, total, whole, shares),
        said_of={
            name: said("share.whole", cause=_cause(name, one, two, shares[name]), amount=amount_said(told.get(name, 0)))
            for name in parts
        },
        before_mm=one.opening_mm, after_mm=two.opening_mm,
        label_of={name: said(f"label.{_way(name, one, two)}") for name in parts},
        fingers=lagging_of(two.hand, two.used, two.slack, two.seen),
    )


# ---- the game


def _told(shares: Mapping[str, float], total_mm: float, whole_mm: int) -> dict[str, int]:
    told = {name: mm for name, mm in shares.items() if abs(mm) >= _TOLD_MM}
    rest = total_mm - sum(told.values())
    return adding_up(told | ({REST: rest} if abs(rest) >= _TOLD_MM else {}), whole_mm)


def _side(scene: Scene) -> _Side:
    way = risen(scene, np.array([scene.channel[0].pulse.amplitude_ma]))
    (seen,) = mechanics.equilibria([way.asked])
    hand = effective_hand(scene)
    drive = {name: float(way.drive[name][0]) if name in way.drive else 0.0 for name in hand_pools()}
    return _Side(scene, hand, seen, drive, drive_of_hand(way.drive, hand, 1))


def _parts_that_differ(one: _Side, two: _Side) -> tuple[str, ...]:
    """Mechanisms that could have a part in the change, in the order of `PARTS`."""
    a, b = one.hand, two.hand

    def moved(muscles: tuple[str, ...]) -> bool:
        return any(abs(one.drive[m] - two.drive[m]) > _SAME for m in hand_pools() if m in muscles)

    differ = {
        "recruitment": moved((*OPENERS, *finger_slips())),
        "wrist": abs(one.wrist_deg - two.wrist_deg) > 1e-3 or _support(a) != _support(b),
        "spread": moved(CLOSERS),
        "tone": (a.finger_tone, a.wrist_tone) != (b.finger_tone, b.wrist_tone),
        "length": a.flexor_length_factor != b.flexor_length_factor,
        "own_effort": (a.own_opening, a.own_grip) != (b.own_opening, b.own_grip),
        "hand": _person(a) != _person(b),
    }
    differ["slips"] = one.slack != two.slack or (one.slack and any(differ.values()))
    return tuple(name for name in PARTS if differ[name])


def _openings(parts: tuple[str, ...], one: _Side, two: _Side) -> Array:
    """Opening [mm] when a set of `parts` has passed to the second scene, for every set; bit i of the index is part i."""
    n = len(parts)
    passed = {name: (np.arange(2**n) >> i) & 1 == 1 for i, name in enumerate(parts)}
    never = np.zeros(2**n, dtype=np.bool_)
    part = {name: passed.get(name, never) for name in PARTS}
    drive, tone = _drives(part, one, two)
    at = {False: one.hand, True: two.hand}
    slack = _model(two)
    found = np.empty(2**n)
    stays = ~part["wrist"] if "wrist" in parts else never
    after_deg = np.nan if two.hand.wrist_held_deg is None else two.hand.wrist_held_deg
    held_deg = np.where(stays, one.wrist_deg, after_deg)
    # rows of one hand and one model share its constants; of hands that differ in strength alone it is the drive that differs
    alike: dict[tuple[_Held, bool], list[NDArray[np.intp]]] = {}
    kind = part["length"] + 2 * part["hand"] + 4 * part["slips"]
    for i in np.unique(kind, return_index=True)[1]:
        length, other = at[bool(part["length"][i])], at[bool(part["hand"][i])]
        hand = _Held(
            length.flexor_length_factor, other.hand_length_mm, other.forearm, two.hand.wrist_held_deg,
            help_opening=other.help_opening, wrist_rests=two.hand.wrist_rests,
        )
        alike.setdefault((hand, bool(part["slips"][i])), []).append(np.flatnonzero(kind == kind[i]))
    driven = drive_rows(two.hand, drive, slack, tone)
    sets, asked = [np.concatenate(rows) for rows in alike.values()], []
    for (hand, slips), rows in zip(alike, sets, strict=True):
        # a wrist that has passed is the second scene's: where two postures can rest, the sets lie beside the one that it is in
        q = np.where(stays[rows][:, None], angles_rad(one.seen), angles_rad(two.seen))
        asked.append(mechanics.Asked(
            hand, {muscle: drive[muscle][rows] for muscle in mechanics.THUMB_MUSCLES},
            model=slack if slips or "slips" not in parts else _model(one),
            start=replace(one.seen, angle_deg=dict(zip(mechanics.ANGLES, np.degrees(q).T, strict=True))),
            slips_as_in=one.seen if one.slack and not slips and "slips" in parts else None,
            wrist_held_deg=held_deg[rows], rows=(driven[0][rows], driven[1][rows]),
        ))  # fmt: skip
    for rows, opening in zip(sets, openings_mm(asked), strict=True):
        found[rows] = opening
    return found


def _model(side: _Side) -> mechanics.HandModel:
    return scene_hand() if side.slack else changed(scene_hand(), hood__slack=0.0)


def _drives(
    part: dict[str, NDArray[np.bool_]], one: _Side, two: _Side
) -> tuple[dict[str, Array], dict[str, Array]]:
    """Drive of every muscle for every set with effort, put together as a run does, and the tone of every set."""

    def of(name: str, field: str) -> Array:
        return np.where(part[name], float(getattr(two.hand, field)), float(getattr(one.hand, field)))

    along = number("hand.effort.intrinsics_share") * of("own_effort", "own_opening")
    own = {"INT": along, **dict.fromkeys(("FDP", "FDS"), of("own_effort", "own_grip"))}
    own |= dict.fromkeys(("EDC", *mechanics.FREE_MUSCLES, *finger_slips()), of("own_effort", "own_opening"))
    drive = {}
    for name in hand_pools():
        stimulated = np.where(part["spread" if name in CLOSERS else "recruitment"], two.drive[name], one.drive[name])
        drive[name] = of("hand", "strength") * np.minimum(stimulated + own.get(name, 0.0), 1.0)
    return drive, {"finger": of("tone", "finger_tone"), "wrist": of("tone", "wrist_tone")}


def _support(hand: Hand) -> tuple[object, ...]:
    return hand.wrist_held_deg, hand.wrist_rests


def _person(hand: Hand) -> tuple[object, ...]:
    return hand.strength, hand.hand_length_mm, hand.forearm, hand.help_opening


def _left_by_slack(side: _Side) -> float:
    """What slack leaves of the middle finger's slips' share; 1 where they are taut."""
    left = slack_left(hand_constants(side.hand, _model(side)), angles_rad(side.seen))
    return float(left[mechanics.FINGERS.index("middle")])


# ---- words


def _more(name: str, one: _Side, two: _Side) -> bool:
    """Whether the mechanism is stronger, further or longer in the second scene."""
    a, b = one.hand, two.hand
    if name in ("recruitment", "spread"):
        muscles = [m for m in HAND_MUSCLES if m in (OPENERS if name == "recruitment" else CLOSERS)]
        return sum(_pull(two, m) for m in muscles) > sum(_pull(one, m) for m in muscles)
    if name == "slips":
        return _left_by_slack(two) < _left_by_slack(one)
    return {
        "wrist": two.wrist_deg < one.wrist_deg,
        "tone": (b.finger_tone, b.wrist_tone) > (a.finger_tone, a.wrist_tone),
        "length": b.flexor_length_factor < a.flexor_length_factor,
        "own_effort": (b.own_opening - b.own_grip) > (a.own_opening - a.own_grip),
    }[name]


def _pull(side: _Side, muscle: str) -> float:
    return side.drive[muscle] * full_force_n(muscle)


def _way(name: str, one: _Side, two: _Side) -> str:
    """What became of a mechanism, as the catalogue's tables of labels, causes and reasons name it."""
    return _way_of_hand(one.hand, two.hand) if name == "hand" else f"{name}_{'more' if _more(name, one, two) else 'less'}"


def _way_of_hand(a: Hand, b: Hand) -> str:
    """The same where the person, the turn of the forearm or the other hand's help is another."""
    found = [
        f"{name}_{'more' if after > before else 'less'}"
        for name, before, after in (
            ("strength", a.strength, b.strength), ("size", a.hand_length_mm, b.hand_length_mm),
            ("help", a.help_opening, b.help_opening),
        )
        if before != after
    ]
    found += ["turned"] if a.forearm != b.forearm else []
    return found[0] if len(found) == 1 else "another"


def _cause(name: str, one: _Side, two: _Side, share: float) -> Said:
    """The cause as the head of a sentence, with how it works where that is not plain."""
    if name == "wrist" and abs(two.wrist_deg - one.wrist_deg) >= _TURNED_DEG:
        back = _more(name, one, two)
        if back and share <= -_TOLD_MM:
            return said("cause.wrist_tight")
        if not back and share >= _TOLD_MM:
            return said("cause.wrist_slack")
    cause = said(f"cause.{_way(name, one, two)}")
    if name == "recruitment" and share <= -_TOLD_MM and _more(name, one, two):
        back = one.wrist_deg - two.wrist_deg >= _TURNED_DEG
        return said("cause.draws_wrist" if back else "cause.too_far", cause=cause)
    if name == "own_effort" and share >= _TOLD_MM and two.hand.own_opening > one.hand.own_opening:
        return said("cause.small_muscles", cause=cause)
    return cause


def amount_said(told_mm: int) -> Said:
    """How much a share is, as it is told; none where that is nothing."""
    if not told_mm:
        return said("share.none")
    return said("share.more" if told_mm > 0 else "share.less", mm=abs(told_mm))


def _summary(one: _Side, two: _Side, total: float, whole_mm: int, shares: dict[str, float]) -> Said:
    """From where to where, how much, and the cause or the two causes that made most of it."""
    start = _from_to(*(side.scene.channel[0].pulse.amplitude_ma for side in (one, two)))
    gains = sorted((n for n in shares if shares[n] >= _TOLD_MM), key=lambda n: -shares[n])
    losses = sorted((n for n in shares if shares[n] <= -_TOLD_MM), key=lambda n: shares[n])

    def because(name: str) -> Said:
        return said(f"because.{_way(name, one, two)}")

    if abs(total) < _TOLD_MM or not whole_mm:
        if gains and losses:
            return said("why.swapped", start=start, gain=because(gains[0]), loss=because(losses[0]))
        return said("why.stays", start=start)
    causes, moved = (gains, "gained") if total > 0 else (losses, "lost")
    if not causes:
        return said(f"why.{moved}", start=start, mm=abs(whole_mm))
    weight = [abs(shares[name]) for name in causes]
    told = causes[: 2 if len(causes) > 1 and weight[1] >= 0.5 * weight[0] else 1]
    most = sum(weight[: len(told)]) / sum(weight)
    how = "all" if len(told) == len(causes) else "most" if most >= 0.5 else "above"
    reasons = [because(name) for name in told]
    both = said("because.both", a=reasons[0], b=reasons[1]) if len(reasons) > 1 else reasons[0]
    return said(f"why.{moved}_{how}", start=start, mm=abs(whole_mm), causes=both)


def _from_to(first: float, last: float) -> Said:
    """From which current to which, with a tenth where whole numbers would be the same."""
    if abs(first - last) < 0.05:
        return said("why.change")
    return said("why.currents_apart" if round(first) == round(last) else "why.currents", first=first, last=last)
