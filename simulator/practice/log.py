"""What happened: events in order and what they add up to."""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from graspwave.simulator import show
from graspwave.simulator.reach import Reach
from graspwave.simulator.results import Result
from graspwave.simulator.words import Said, said

__all__ = ["CAUSES", "PHASES", "Event", "Practice", "cause_said", "phase_said"]

PHASES = (
    "set up", "warm up", "rest", "react", "wait", "reach", "open", "close", "lift", "slide", "carry", "set down", "try",
    "release", "return", "drop", "failed",
)
"""Names of phases, in the order of a repetition."""

CAUSES = ("stimulus in mid-carry", "grip too weak", "object too wide", "pushed away", "hand let go late")
"""Why an object was dropped or knocked over."""


def phase_said(phase: str) -> Said:
    """A phase's name as a sentence of the catalogue; the log's own name is its key and stays as it is."""
    return said(f"phase.{phase}")


def cause_said(cause: str) -> Said:
    """Why something happened as a sentence of the catalogue; the log's own words are its key, a number in them is filled in."""
    lean = re.fullmatch(r"lean (\d+) mm", cause)
    return said("because_of.lean", mm=float(lean[1])) if lean else said(f"because_of.{cause}")


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

    def line(self, language: str = "en") -> str:
        """The event as one line of fixed format; phase and cause in a language of the catalogue."""
        phase, cause = phase_said(self.phase).told(language), self.cause and cause_said(self.cause).told(language)
        return (
            f"{self.t_s:10.3f} {self.lasts_s:8.3f} {self.repetition:4d} {phase:8s} {self.opening_mm:6.1f} "
            f"{self.current_ma:5.1f} {self.bits:6.3f} {cause}"
        ).rstrip()


@dataclass(frozen=True, slots=True, eq=False, repr=False)
class Practice(Result):
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

    def log_text(self, language: str = "en") -> str:
        """The log as text of fixed format: the same scene and seed give the same bytes.

        Phases and causes are told in a language of the catalogue; in the log itself, and in `frame`, they keep their own names,
        which programs read.
        """
        head = f"     {said('log.head').told(language)}\n"
        return head + "\n".join(event.line(language) for event in self.log) + "\n"

    def _said(self) -> list[str]:
        failed = sum(self.failures.values())
        return [
            f"Practice of {self.minutes:g} minutes, {self.control}: {self.repetitions} put down of {self.attempts} attempts",
            f"{self.drops} dropped, {failed} failed; {self.waiting_s / 60.0:.1f} min waiting, "
            f"{self.on_s / 60.0:.1f} min of current",
            f"opening {self.opening_first_mm:.0f} mm at first, {self.opening_left_mm:.0f} mm at the end",
        ]

    def _drawn(self, figure: Any, **look: Any) -> Any:
        rows = [(event.phase, event.t_s, event.t_s + event.lasts_s) for event in self.log if event.lasts_s > 0.0]
        return show.spans("What happened when", "Time [s]", rows, figure, **look)

    def _columns(self) -> Mapping[str, Any]:
        return {
            "time [s]": [event.t_s for event in self.log], "lasts [s]": [event.lasts_s for event in self.log],
            "attempt": [event.repetition for event in self.log], "phase": [event.phase for event in self.log],
            "opening [mm]": [event.opening_mm for event in self.log], "current [mA]": [event.current_ma for event in self.log],
            "cause": [event.cause for event in self.log],
        }
