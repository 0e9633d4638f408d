"""What happened: events in order and what they add up to."""

from __future__ import annotations

from dataclasses import dataclass

from graspwave.simulator.reach import Reach

__all__ = ["CAUSES", "PHASES", "Event", "Practice"]

PHASES = (
    "set up", "warm up", "rest", "react", "wait", "reach", "open", "close", "lift", "slide", "carry", "set down", "try",
    "release", "return", "drop", "failed",
)
"""Names of phases, in the order of a repetition."""

CAUSES = ("stimulus in mid-carry", "grip too weak", "object too wide", "pushed away", "hand let go late")
"""Why an object was dropped or knocked over."""


@dataclass(frozen=True, slots=True)
class Event:
    """One phase of one repetition.

    Attributes
    ----------
    t_s, lasts_s : float
        Start and length.
    phase : str
        One of `PHASES`.
    cause : str
        Why it happened, empty where it is just the next phase; one of `CAUSES` where an object was dropped.
    repetition : int
        Attempt it belongs to, from 1; 0 before the first.
    opening_mm : float
        Opening of the hand at its end, where it matters; else 0.
    current_ma : float
        Current of the first channel that is set at that time.
    bits : float
        Fitts' index of difficulty of an aimed movement; else 0.
    """

    t_s: float
    lasts_s: float
    phase: str
    cause: str = ""
    repetition: int = 0
    opening_mm: float = 0.0
    current_ma: float = 0.0
    bits: float = 0.0

    def line(self) -> str:
        """The event as one line of fixed format."""
        return (
            f"{self.t_s:10.3f} {self.lasts_s:8.3f} {self.repetition:4d} {self.phase:8s} {self.opening_mm:6.1f} "
            f"{self.current_ma:5.1f} {self.bits:6.3f} {self.cause}"
        ).rstrip()


@dataclass(frozen=True, slots=True)
class Practice:
    """A session of practice.

    Attributes
    ----------
    control : str
        "timed" or "held".
    seed : int
    minutes : float
    repetitions : int
        Objects brought to their place and let go of.
    attempts : int
        Times the hand went out.
    drops, spills : int
    drop_causes, failures : dict of str to int
        How often for each cause; failures are attempts that ended without a drop.
    waiting_s : float
        Time in which the person waited for the timer.
    on_s : float
        Time the first channel ran, ramps included.
    pulses : int
        Of all channels.
    charge_mc : float
        First phases of all channels, millicoulombs.
    missed_cycles : int
        On times of the first channel in which nothing could be done.
    current_ma, last_current_ma : float
        Found at set-up, and at the end.
    needed_mm, most_mm : float
        Opening that the object asks for, and the widest from which the hand still closes on it well.
    opening_first_mm, opening_left_mm : float
        Stimulated opening at the current found at set-up, fresh and at the end.
    force_left : float
        Share of its force that the stimulated muscle still has at the end.
    reach : Reach
        To the object, untired.
    phase_s : dict of str to float
        Time in each phase.
    stimulated_s : tuple of (float, float, float)
        When the first channel ran: from, to (end of the fall), current in mA.
    log : tuple of Event
    """

    control: str
    seed: int
    minutes: float
    repetitions: int
    attempts: int
    drops: int
    spills: int
    drop_causes: dict[str, int]
    failures: dict[str, int]
    waiting_s: float
    on_s: float
    pulses: int
    charge_mc: float
    missed_cycles: int
    current_ma: float
    last_current_ma: float
    needed_mm: float
    most_mm: float
    opening_first_mm: float
    opening_left_mm: float
    force_left: float
    reach: Reach
    phase_s: dict[str, float]
    stimulated_s: tuple[tuple[float, float, float], ...]
    log: tuple[Event, ...]

    def log_text(self) -> str:
        """The log as text of fixed format: the same scene and seed give the same bytes."""
        head = "     t [s]  lasts   rep phase    opening current bits cause\n"
        return head + "\n".join(event.line() for event in self.log) + "\n"
