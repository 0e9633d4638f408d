"""Half an hour of practice, simulated: by timer and by switch, side by side."""

from __future__ import annotations

import csv
import io
from functools import lru_cache
from typing import Any, ClassVar

import param

from graspwave import simulator as sim
from graspwave.apps import notices
from graspwave.apps.controls import Control, Finding
from graspwave.apps.told.findings import MOVED_MM
from graspwave.apps.told.refusals import refusal_words
from graspwave.apps.web.source import component, sheet
from graspwave.simulator.practice import Practice, run_practice
from graspwave.simulator.practice.opening import worked_hand

__all__ = ["HalfHour", "half_hour_csv", "half_hour_finding", "on_the_timer", "sessions_of", "worked_out"]

_WORDS = {"timed": "By timer", "held": "By switch"}
_SET = ("set up", "warm up", "rest", "react")


@lru_cache(maxsize=16)
def practised(scene: sim.Scene, control: str) -> Practice:
    """One session, of the scene's own length and seed."""
    return run_practice(scene, control)


def half_hour_finding(scene: sim.Scene) -> str:
    """What the two sessions say, in one sentence."""
    timed, held = practised(scene, "timed"), practised(scene, "held")
    if not timed.repetitions and not held.repetitions:
        return f"No {scene.task.object} was put down: see why it failed"
    more = f"The switch gave {held.repetitions}, the timer {timed.repetitions}"
    waited = timed.waiting_s / 60.0
    return f"{more}; {waited:.0f} min of the timer's went in waiting" if waited >= 1.0 else more


def sessions_of(scene: sim.Scene) -> list[dict[str, Any]]:
    """Both sessions as what the picture needs."""
    return [_drawn(scene, practised(scene, control)) for control in _WORDS]


def _opening_words(scene: sim.Scene, practice: Practice) -> str:
    """What the two openings are, where the effort of the reach closes the hand how far it opens without, and what tiring did.

    A hand that opens wider tired than fresh had more current than it wanted.
    """
    ma = practice.current_ma
    free_mm = float(sim.opening_curve(scene.replace("hand", worked_hand(scene)), [ma]).opening_mm[0])
    if practice.opening_first_mm < free_mm - MOVED_MM:
        return f"opening as the person reaches, first and last: that effort closes it from {free_mm:.0f} mm"
    if practice.opening_left_mm > practice.opening_first_mm + MOVED_MM:
        return "opening as the person reaches, first and last: the current was too high at first, tiring is no gain"
    return "opening as the person reaches, first and last"


def _drawn(scene: sim.Scene, practice: Practice) -> dict[str, Any]:
    figures = [
        [str(practice.repetitions), "put down"],
        [str(practice.drops), "dropped" + (f" ({', '.join(practice.drop_causes)})" if practice.drops else "")],
        [f"{practice.waiting_s / 60:.1f} min", "waiting"],
        [f"{practice.on_s / 60:.1f} min", "of current"],
        [f"{practice.opening_first_mm:.0f} → {practice.opening_left_mm:.0f} mm", _opening_words(scene, practice)],
        [f"{100 * practice.force_left:.0f} %", "of the pull left"],
    ]
    figures += [[str(count), f"failed: {why}"] for why, count in practice.failures.items()]
    spans = []
    for event in practice.log:
        kind = "wait" if event.phase == "wait" else "set" if event.phase in _SET else "move"
        if event.lasts_s > 0.0:
            spans.append([round(event.t_s, 2), round(event.lasts_s, 2), kind, event.phase])
    words = _WORDS[practice.control]
    spoken = ", ".join(f"{value} {word}" for value, word in figures)
    return {
        "words": words, "figures": figures, "spans": spans, "total_s": 60.0 * practice.minutes,
        "current": [[round(a, 2), round(b, 2)] for a, b, _ in practice.stimulated_s],
        "drops": [[round(event.t_s, 2)] for event in practice.log if event.phase == "drop"],
        "spoken": f"{words}, {practice.minutes:g} minutes: {spoken}.",
    }


def on_the_timer(scene: sim.Scene, told: Finding) -> sim.Scene | None:
    """The scene on the timer's cycle; None, and why in `told`, where the timer cannot run it."""
    try:
        return scene.replace("channel.0.timing.control", "cycle")
    except sim.SceneError as why:
        told.text = plain_refusal(why)
        return None


def plain_refusal(error: sim.SceneError) -> str:
    """Why the timer cannot run a scene, in the page's own words where its own fields lead there."""
    if error.name.endswith("timing.on_s"):
        return f"Rise and fall do not fit into the timer's on time of {error.got} s: shorten them."
    return refusal_words(error)


def worked_out(scene: sim.Scene) -> tuple[list[dict[str, Any]], str, str]:
    """Both sessions as the picture needs them, as a table, and what they say."""
    return sessions_of(scene), half_hour_csv(scene), half_hour_finding(scene)


def half_hour_csv(scene: sim.Scene) -> str:
    """The logs of both sessions as one table, the caution first."""
    text = io.StringIO()
    text.write(f"# {notices.caution_text()}\n")
    writer = csv.writer(text, lineterminator="\n")
    writer.writerow(["control", "time [s]", "lasts [s]", "attempt", "phase", "opening [mm]", "current [mA]", "cause"])
    for control in _WORDS:
        for event in practised(scene, control).log:
            writer.writerow([
                control, f"{event.t_s:.3f}", f"{event.lasts_s:.3f}", event.repetition, event.phase, f"{event.opening_mm:.1f}",
                f"{event.current_ma:.1f}", event.cause,
            ])
    return text.getvalue()


class HalfHour(Control):
    """The picture of both sessions; `show` fills it.

    Parameters
    ----------
    sessions
        What `sessions_of` gives.
    csv
        What the button saves.
    """

    sessions = param.List(default=[])
    csv = param.String(default="")

    _esm: ClassVar[str] = component("practise/half_hour.js")
    _stylesheets: ClassVar[list[str]] = [*Control._stylesheets, sheet("practise/half_hour.css")]

    def draw(self, sessions: list[dict[str, Any]], csv: str) -> None:
        """Draw both sessions, or none."""
        self.param.update(sessions=sessions, csv=csv)
