"""The scene being set: the scene, what the chain makes of it, what was changed. No Panel here."""

from __future__ import annotations

import math
import time
from dataclasses import dataclass
from functools import lru_cache
from typing import Any

import numpy as np
import param
from numpy.typing import NDArray

from graspwave import simulator as sim
from graspwave.apps.told import findings
from graspwave.apps.told.arms import Arms
from graspwave.apps.told.marks import Help, Marks, with_folds
from graspwave.apps.told.refusals import refusal_words
from graspwave.apps.told.scenes import HANDS, curve_of
from graspwave.simulator.clearing import clearing_ranges
from graspwave.simulator.hand import help_notices
from graspwave.simulator.notices import Notice, notices_of

__all__ = ["Cycle", "DeskState", "cycle_of"]

_STEP_S = 1.5
"""A longer pause ends a drag: what comes after it is a step of its own."""

_AMPLITUDE = "channel.0.pulse.amplitude_ma"


@dataclass(frozen=True, slots=True)
class Cycle:
    """One cycle of the present scene, for the plots over time."""

    run: sim.Run
    on_s: float


class DeskState(param.Parameterized):
    """The scene and its results; views watch `scene` and read the rest.

    Parameters
    ----------
    scene : simulator.Scene
        The present scene.
    pinned : simulator.Scene or None
        A scene kept for comparison.
    """

    scene: sim.Scene = param.ClassSelector(class_=sim.Scene)  # type: ignore[assignment]  # never None: it is given at once
    pinned = param.ClassSelector(class_=sim.Scene, default=None, allow_None=True)
    marks = param.ClassSelector(class_=Marks, default=None, allow_None=True, doc="The curve at a second look, once it is known.")
    arms_asked = param.Boolean(default=False, doc="Whether other arms are to stand beside the curve.")
    arms = param.ClassSelector(class_=Arms, default=None, allow_None=True, doc="Other arms of this curve, once known.")
    arms_told = param.String(default="", doc="How far they are, or why there are none.")
    played_s = param.Number(default=-1.0, doc="Where the cycle that is played has come to [s]; below 0 none is played.")
    lit = param.String(default="", doc="Tendons that stand out in the picture: openers, closers, slips, or none.")
    letter_px = param.Number(default=15.0, doc="Height of a letter of 1 rem on the page's plots, as the page has told.")
    plot_px = param.Dict(default={}, doc="Width and height of the drawn part of the plots, by their names, as the page has told.")
    message = param.String(default="", doc="Why the last change was refused; empty when it was taken.")

    def __init__(self, scene: sim.Scene | None = None, **params: Any) -> None:
        super().__init__(scene=scene or sim.presets()["tight"], **params)
        self._past: list[tuple[str, sim.Scene]] = []
        self._changed_at = -math.inf
        self.refusal: sim.SceneError | None = None
        self.refused: tuple[str, ...] = ()
        self.fields: list[tuple[Any, tuple[str, ...]]] = []

    # ---- changes

    def change(self, path: str, value: object) -> bool:
        """Set one setting; a change that the scene refuses is told in `message` and changes nothing."""
        return self.change_all({path: value}, path)

    def change_all(self, settings: dict[str, object], key: str) -> bool:
        """Set several settings as one change that is undone as one; `key` names it: a drag is one step until it pauses."""
        scene = self.scene
        try:
            for path, value in settings.items():
                scene = scene.replace(path, value)
        except sim.SceneError as error:
            self.refusal, self.refused = error, tuple(settings)
            self.message = refusal_words(error)
            return False
        if scene != self.scene:
            now = time.monotonic()
            if not self._past or self._past[-1][0] != key or now - self._changed_at > _STEP_S:
                self._past.append((key, self.scene))
                del self._past[:-100]
            self._changed_at = now
            self.param.update(scene=scene, message="")
        self.message = ""
        return True

    def take(self, help_: Help) -> bool:
        """Try what would help, as one change; where it lets a current clear the object, that current is set as well."""
        settings = dict(help_.settings)
        if help_.fits_ma and _AMPLITUDE not in settings:
            low, high = help_.fits_ma[0]
            settings[_AMPLITUDE] = float(math.ceil(low)) if math.ceil(low) <= high else round(0.5 * (low + high), 1)
        return self.change_all(settings, help_.words)

    def rest_slider(self) -> None:
        """A drag has ended: the next change starts a step of its own."""
        if self._past:
            self._past[-1] = ("", self._past[-1][1])

    @property
    def came_from(self) -> sim.Scene | None:
        """The scene before the last change; none where nothing was changed yet."""
        return self._past[-1][1] if self._past else None

    @property
    def can_undo(self) -> bool:
        """Whether there is a change to take back."""
        return bool(self._past)

    def undo(self) -> None:
        """Take the last change back."""
        if self._past:
            _, scene = self._past.pop()
            self.param.update(scene=scene, message="")

    def pin(self) -> None:
        """Keep the present scene for comparison, or let the kept one go."""
        self.pinned = None if self.pinned is not None else self.scene

    # ---- results

    @property
    def amplitude_ma(self) -> float:
        """The present current."""
        return self.scene.channel[0].pulse.amplitude_ma

    @property
    def curve(self) -> sim.Opening:
        """Opening against current for the scene."""
        return curve_of(self.scene)

    @property
    def pinned_curve(self) -> sim.Opening | None:
        """The same of the pinned scene."""
        return None if self.pinned is None else curve_of(self.pinned)

    @property
    def point(self) -> sim.Opening:
        """Posture, forces and opening at the present current (arrays of one)."""
        return _point(self.scene)

    @property
    def pinned_point(self) -> sim.Opening | None:
        """The same of the pinned scene, at its own current."""
        return None if self.pinned is None else _point(self.pinned)

    @property
    def cycle(self) -> Cycle:
        """The first cycle, pulse by pulse."""
        return cycle_of(self.scene)

    @property
    def dose(self) -> sim.Dose:
        """Dose of the first channel."""
        return sim.dose_of(self.scene)

    @property
    def notices(self) -> tuple[Notice, ...]:
        """What dose and pads of every channel have to say, what is passed first."""
        return _notices(self.scene)

    @property
    def help_notices(self) -> tuple[str, ...]:
        """What a person who helps with the other hand should be told."""
        return _help_notices(self.scene.hand)

    @property
    def finding(self) -> str:
        """Title of the curve."""
        task, curve = self.scene.task, self.curve_with_folds
        return findings.finding(*curve, self.amplitude_ma, task.object, task.diameter_mm)

    @property
    def curve_with_folds(self) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
        """Current and opening of the curve, folds drawn upright once they are known."""
        curve = self.curve
        return with_folds(curve.amplitude_ma, curve.opening_mm, () if self.marks is None else self.marks.folds)

    @property
    def fits_ma(self) -> tuple[tuple[float, float], ...]:
        """Currents that clear the object, from and to."""
        return clearing_ranges(*self.curve_with_folds, self.scene.task.diameter_mm)

    @property
    def hand_key(self) -> str:
        """Preset hand with this flexor length factor, or empty."""
        factor = self.scene.hand.flexor_length_factor
        return next((k for k in HANDS if sim.presets()[k].hand.flexor_length_factor == factor), "")


@lru_cache(maxsize=8)
def _point(scene: sim.Scene) -> sim.Opening:
    return sim.opening_curve(scene, [scene.channel[0].pulse.amplitude_ma])


@lru_cache(maxsize=8)
def cycle_of(scene: sim.Scene) -> Cycle:
    """The first cycle of a scene, pulse by pulse; remembered."""
    channel = scene.channel[0]
    return Cycle(sim.simulate(scene, duration_s=min(channel.cycle_s, 60.0)), channel.on_total_s)


@lru_cache(maxsize=32)
def _notices(scene: sim.Scene) -> tuple[Notice, ...]:
    return notices_of(scene)


@lru_cache(maxsize=32)
def _help_notices(hand: sim.Hand) -> tuple[str, ...]:
    return help_notices(hand)
