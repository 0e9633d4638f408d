"""Parameters of the hand: frozen records built from the fact table, and a way to change single ones.

Section and field names are those of the table ``hand``, so ``hood.slack`` is the fact ``hand.hood.slack``. A
demonstration or a test that needs another hand asks `changed` for it; nothing is ever changed in place.
"""

from __future__ import annotations

from dataclasses import dataclass, fields, is_dataclass, replace
from difflib import get_close_matches
from functools import cache, cached_property
from typing import Any, Protocol

from graspwave.simulator import facts

__all__ = [
    "ANGLES",
    "JOINTS",
    "MUSCLES",
    "PER_RAY",
    "WRIST_FLEXORS",
    "Bones",
    "Capsule",
    "CapsuleScale",
    "Claw",
    "Contact",
    "Edc",
    "Effort",
    "Fibre",
    "FINGERS",
    "Fingers",
    "Force",
    "Friction",
    "HandLike",
    "HandModel",
    "Helping",
    "Hood",
    "LongFlexor",
    "Mass",
    "Metric",
    "MuscleCurve",
    "Neighbours",
    "PassiveFibre",
    "Reflex",
    "ShortMuscle",
    "Skin",
    "Table",
    "Thumb",
    "ThumbJoint",
    "Tone",
    "Wrist",
    "WristArm",
    "WristFlexors",
    "changed",
    "scene_hand",
    "standard_hand",
]

FINGERS = ("index", "middle", "ring", "little")
"""The fingers, in the order of every array."""

JOINTS = ("wrist", "MCP", "PIP", "DIP")
"""Wrist and middle finger; the other fingers' joints are led by their name, as in ``index.MCP``."""

ANGLES = ("wrist", *(
    joint if finger == "middle" else f"{finger}.{joint}" for finger in FINGERS for joint in JOINTS[1:]
))
"""The 13 angles, in the order of every array."""

PER_RAY = ("EDC", "FDP", "FDS", "INT")
"""Muscles with a part for each finger."""

WRIST_FLEXORS = ("FCR", "FCU", "PL")
"""Muscles that share the path of FCR."""

MUSCLES = (*PER_RAY, "ECRL", "ECRB", "ECU", *WRIST_FLEXORS)
"""Every muscle that can be driven."""


class HandLike(Protocol):
    """What the model reads of a person's hand; the scene's `Hand` has it."""

    @property
    def flexor_length_factor(self) -> float: ...
    @property
    def finger_tone(self) -> float: ...
    @property
    def wrist_tone(self) -> float: ...
    @property
    def hand_length_mm(self) -> float: ...
    @property
    def forearm(self) -> str: ...
    @property
    def wrist_held_deg(self) -> float | None: ...
    @property
    def wrist_rests(self) -> bool: ...
    @property
    def reflex_gain(self) -> float: ...
    @property
    def help_opening(self) -> float: ...


@dataclass(frozen=True, slots=True)
class Force:
    """A muscle of which only the force is its own."""

    force_n: float


@dataclass(frozen=True, slots=True)
class Fibre:
    """A muscle at the wrist: largest force, optimal fibre length, fibre length at zero over optimum."""

    force_n: float
    fibre_mm: float
    length_at_zero: float


@dataclass(frozen=True, slots=True)
class PassiveFibre(Fibre):
    """A muscle with a passive curve."""

    passive_rate: float


@dataclass(frozen=True, slots=True)
class Edc(PassiveFibre):
    """Finger extensor of the middle ray, and its arms at wrist and MCP."""

    wrist_arm_mm: float
    wrist_arm_change_mm: float
    wrist_arm_width_rad: float
    wrist_arm_scale: float
    wrist_change_scale: float
    mcp_arm_mm: float
    mcp_arm_fall: float


@dataclass(frozen=True, slots=True)
class LongFlexor(PassiveFibre):
    """Finger flexor of the middle ray: its whole length and its arms."""

    unit_mm: float
    mcp_arm_mm: float
    pip_arm_mm: float
    dip_arm_mm: float


@dataclass(frozen=True, slots=True)
class ShortMuscle(PassiveFibre):
    """The intrinsics of a ray as one muscle; arms as magnitudes, PIP and DIP extend."""

    mcp_arm_mm: float
    pip_arm_mm: float
    dip_arm_mm: float


@dataclass(frozen=True, slots=True)
class Hood:
    """Extensor mechanism: arms of the slips and how the share of force falls with MCP angle."""

    central_arm_mm: float
    central_arm_fall: float
    lateral_arm_mm: float
    lateral_arm_fall: float
    terminal_arm_mm: float
    terminal_to_central: float
    share: float
    flexed_loss: float
    flexed_at_rad: float
    flexed_width_rad: float
    slack: float
    slack_at_rad: float
    slack_width_rad: float


@dataclass(frozen=True, slots=True)
class Capsule:
    """Stops of a finger joint: angles of the reference torque and angles of e-fold growth."""

    extension_deg: float
    extension_fold_deg: float
    flexion_deg: float
    flexion_fold_deg: float


@dataclass(frozen=True, slots=True)
class CapsuleScale:
    """Reference torque of the finger joints' stops."""

    torque_nmm: float


@dataclass(frozen=True, slots=True)
class Contact:
    """Flesh against flesh at the end of a fist."""

    mcp_deg: float
    pip_deg: float
    dip_deg: float
    fold_deg: float


@dataclass(frozen=True, slots=True)
class WristFlexors:
    """The common path of FCR, FCU and PL, and their late passive curve."""

    fibre_mm: float
    length_at_zero: float
    passive_rate: float
    passive_late: float
    unit_mm: float


@dataclass(frozen=True, slots=True)
class Wrist:
    """Passive torque of the wrist joint itself."""

    extension_stop_nmm: float
    flexion_stop_nmm: float
    stop_deg: float
    stop_fold_deg: float
    stiffness_nmm_rad: float
    hard_end: float
    hard_end_nmm: float
    hard_extension_deg: float
    hard_flexion_deg: float
    hard_fold_deg: float


@dataclass(frozen=True, slots=True)
class Table:
    """The table that forearm and palm may lie on: the wrist's axis above it, and how softly the flesh gives way."""

    wrist_half_mm: float
    fold_deg: float


@dataclass(frozen=True, slots=True)
class WristArm:
    """Arms at the wrist as polynomials in wrist flexion [rad], low order first, in cm."""

    fdp_cm: tuple[float, ...]
    fds_cm: tuple[float, ...]
    ecrl_cm: tuple[float, ...]
    ecrb_cm: tuple[float, ...]
    ecu_cm: tuple[float, ...]
    fcr_cm: tuple[float, ...]
    ecu_lifts: float
    constant_beyond_deg: float


@dataclass(frozen=True, slots=True)
class MuscleCurve:
    """Force-length curves common to all muscles."""

    width: float
    passive_shape: float
    straight_above: float


@dataclass(frozen=True, slots=True)
class Bones:
    """Bone lengths of the middle ray over hand length."""

    reference_length_mm: float
    metacarpal: float
    proximal: float
    middle: float
    distal: float
    breadth: float


@dataclass(frozen=True, slots=True)
class Fingers:
    """What of each finger is its own: index, middle, ring, little; over the middle finger's where no unit is named."""

    edc_force: tuple[float, ...]
    own_force_n: tuple[float, ...]
    edc_fibre: tuple[float, ...]
    own_fibre_mm: tuple[float, ...]
    fdp_force: tuple[float, ...]
    fdp_fibre: tuple[float, ...]
    fdp_unit: tuple[float, ...]
    fds_force: tuple[float, ...]
    fds_fibre: tuple[float, ...]
    fds_unit: tuple[float, ...]
    int_force: tuple[float, ...]
    flexor_rest: tuple[float, ...]
    fdp_mcp_arm: tuple[float, ...]
    fdp_pip_arm: tuple[float, ...]
    fdp_dip_arm: tuple[float, ...]
    fds_mcp_arm: tuple[float, ...]
    fds_pip_arm: tuple[float, ...]
    edc_mcp_arm: tuple[float, ...]
    hood_arm: tuple[float, ...]
    slip_at_wrist: tuple[float, ...]
    own_at_wrist: tuple[float, ...]
    capsule: tuple[float, ...]
    mcp_back_deg: tuple[float, ...]
    metacarpal: tuple[float, ...]
    proximal: tuple[float, ...]
    middle: tuple[float, ...]
    distal: tuple[float, ...]
    head_side: tuple[float, ...]
    head_palmar: tuple[float, ...]
    roll_deg: tuple[float, ...]


@dataclass(frozen=True, slots=True)
class Neighbours:
    """What couples a finger to the next: junctures between the extensor's tendons, and the web of skin and fascia."""

    juncture_n_mm: tuple[float, ...]
    web_nmm_rad: tuple[float, ...]


@dataclass(frozen=True, slots=True)
class Mass:
    """Masses of palm and of the phalanges of one ray."""

    palm_kg: float
    palm_at_mm: float
    proximal_kg: float
    middle_kg: float
    distal_kg: float
    gravity_m_s2: float


@dataclass(frozen=True, slots=True)
class Thumb:
    """The thumb: place of its base in the hand, bones over hand length, where it flexes to, angles at rest."""

    base_along: float
    base_side: float
    base_palmar: float
    metacarpal: float
    proximal: float
    distal: float
    aim_along: float
    aim_side: float
    aim_palmar: float
    cmc_deg: float
    radial_deg: float
    mcp_deg: float
    ip_deg: float
    driven: float
    web_shut_deg: float


@dataclass(frozen=True, slots=True)
class ThumbJoint:
    """One joint of the thumb: its spring, how far it goes from rest to both ends, arms of its muscles (+ adds to the angle)."""

    stiffness_nmm_rad: float
    more_deg: float
    less_deg: float
    apl_arm_mm: float
    epb_arm_mm: float
    epl_arm_mm: float
    fpl_arm_mm: float


@dataclass(frozen=True, slots=True)
class Skin:
    """Bone axis to pad."""

    finger_half_mm: float
    thumb_half_mm: float
    palm_half_mm: float


@dataclass(frozen=True, slots=True)
class Claw:
    """What counts as a claw."""

    mcp_below_deg: float
    pip_above_deg: float
    plain_pip_above_deg: float


@dataclass(frozen=True, slots=True)
class Metric:
    """Typical stiffness of each joint of one ray: scale of the solver's steps, shape of the friction."""

    wrist_nmm_rad: float
    mcp_nmm_rad: float
    pip_nmm_rad: float
    dip_nmm_rad: float


@dataclass(frozen=True, slots=True)
class Friction:
    """Friction over the metric."""

    time_s: float


@dataclass(frozen=True, slots=True)
class Tone:
    """How the resting drive of a flexor grows as its fibres are stretched: per unit of length over optimum.

    Finger flexors have all of their tone at rest and more from `stretch_from` on; wrist flexors have the part `wrist_base` at
    rest and the rest from `wrist_from` on. `intrinsics` is the resting drive of the small muscles.
    """


    stretch_gain: float
    stretch_from: float
    stretch_width: float
    wrist_base: float
    wrist_from: float
    wrist_gain: float
    intrinsics: float
    intrinsics_scene: float


@dataclass(frozen=True, slots=True)
class Effort:
    """What the person's own effort to open drives beside the finger extensor."""

    intrinsics_share: float


@dataclass(frozen=True, slots=True)
class Reflex:
    """The stretch reflex at a gain of 1: drive for each optimal length a second, when it comes and how it rises."""

    drive_s: float
    delay_s: float
    rise_s: float
    from_per_s: float
    most: float


@dataclass(frozen=True, slots=True)
class Helping:
    """The other hand under the fingers: its largest push and the angle at which a straight finger leaves it."""

    ceiling_n: float
    straight_deg: float
    width_deg: float
    notice_share: float
    notice_pip_deg: float


@dataclass(frozen=True)
class HandModel:
    """Every parameter of the hand, section by section as in the fact table.

    What is kept for a model is asked for by it often, so its hash is worked out once: there are some three hundred numbers.
    """

    edc: Edc
    fdp: LongFlexor
    fds: LongFlexor
    intrinsics: ShortMuscle
    hood: Hood
    mcp: Capsule
    pip: Capsule
    dip: Capsule
    capsule: CapsuleScale
    contact: Contact
    ecrl: Fibre
    ecrb: Fibre
    ecu: Fibre
    fcr: Force
    fcu: Force
    pl: Force
    wrist_flexors: WristFlexors
    wrist: Wrist
    table: Table
    wrist_arm: WristArm
    muscle_curve: MuscleCurve
    bones: Bones
    fingers: Fingers
    neighbours: Neighbours
    mass: Mass
    thumb: Thumb
    thumb_cmc: ThumbJoint
    thumb_radial: ThumbJoint
    thumb_mcp: ThumbJoint
    thumb_ip: ThumbJoint
    skin: Skin
    claw: Claw
    metric: Metric
    friction: Friction
    tone: Tone
    reflex: Reflex
    helping: Helping
    effort: Effort

    def __hash__(self) -> int:
        return self._hash

    @cached_property
    def _hash(self) -> int:
        return hash(tuple(getattr(self, section.name) for section in fields(self)))


_SECTIONS: dict[str, type[Any]] = {
    "edc": Edc, "fdp": LongFlexor, "fds": LongFlexor, "intrinsics": ShortMuscle, "hood": Hood,
    "mcp": Capsule, "pip": Capsule, "dip": Capsule, "capsule": CapsuleScale, "contact": Contact, "ecrl": Fibre,
    "ecrb": Fibre, "ecu": Fibre, "fcr": Force, "fcu": Force, "pl": Force, "wrist_flexors": WristFlexors, "wrist": Wrist,
    "table": Table, "wrist_arm": WristArm, "muscle_curve": MuscleCurve, "bones": Bones, "fingers": Fingers,
    "neighbours": Neighbours,
    "mass": Mass, "thumb": Thumb, "thumb_cmc": ThumbJoint, "thumb_radial": ThumbJoint,
    "thumb_mcp": ThumbJoint, "thumb_ip": ThumbJoint, "skin": Skin,
    "claw": Claw, "metric": Metric, "friction": Friction,
    "tone": Tone, "reflex": Reflex, "helping": Helping, "effort": Effort,
}  # fmt: skip


@cache
def standard_hand() -> HandModel:
    """The model with every number as it stands in the fact table."""
    return HandModel(**{section: _read(section, record) for section, record in _SECTIONS.items()})


@cache
def scene_hand() -> HandModel:
    """The model that a scene is run with: the wrist ends at its published range, the small muscles have tone."""
    standard = standard_hand()
    return changed(standard, wrist__hard_end=1.0, tone__intrinsics=standard.tone.intrinsics_scene)


def changed(model: HandModel, **values: Any) -> HandModel:
    """The model with some parameters set otherwise.

    Parameters
    ----------
    model : HandModel
        Left as it is.
    **values : float or tuple of float
        New values by section and field, with two underscores between them: ``changed(model, hood__slack=0.0)``.

    Raises
    ------
    ValueError
        A name that is no parameter.
    """
    for name, value in values.items():
        section, _, field = name.partition("__")
        part: Any = getattr(model, section, None)
        if not is_dataclass(part) or isinstance(part, type) or field not in {f.name for f in fields(part)}:
            known = [f"{s}__{f.name}" for s, record in _SECTIONS.items() for f in fields(record)]
            nearest = get_close_matches(name, known, n=1)
            hint = f"; the nearest is '{nearest[0]}'" if nearest else ""
            raise ValueError(f"'values' must name a section and a field of HandModel (got '{name}'){hint}")
        part = replace(part, **{field: value})
        model = replace(model, **{section: part})
    return model


def _read(section: str, record: type[Any]) -> Any:
    values = {f.name: facts.fact(f"hand.{section}.{f.name}").value for f in fields(record)}
    return record(**{name: v if isinstance(v, tuple) else float(v) for name, v in values.items()})
