"""The hero on the left: the hand at the present current, or moving through one cycle."""

from __future__ import annotations

from typing import Any

import numpy as np
import panel as pn

import simulator as sim
from apps.explore.findings import bend_words, wrist_words
from apps.explore.state import ExploreState
from apps.pictures.hand_scene import HandScene
from apps.pictures.thumb import thumb_deg
from simulator.recruitment import CLOSERS

__all__ = ["HandView", "thread_items"]

_DRAWN_ARM_MM = 230.0
_FRAME_S = 1.0 / 30.0
_WAVES_MM = 5.0
"""Height of the waves of a slip that has lost all force; a scale of the picture."""

_FULL_PULL_N = 150.0
"""Tension that is drawn thickest; a scale of the picture, not of the model."""


def thread_items(state: ExploreState) -> list[dict[str, str]]:
    """The chain as numbers, in the order of cause."""
    point = state.point
    angle = {joint: float(value[0]) for joint, value in point.angle_deg.items()}
    closers = max(float(point.recruited[name][0]) for name in CLOSERS if name in point.recruited)
    gap = float(point.opening_mm[0])
    return [
        {"quantity": "current", "value": f"{state.amplitude_ma:.0f} mA", "words": "current on the skin"},
        {
            "quantity": "force", "value": f"{100 * point.recruited['EDC'][0]:.0f} % · {100 * closers:.0f} %",
            "words": "opener · closers called in",
        },
        {"quantity": "force", "value": f"{point.force_n['EDC'][0]:.0f} N", "words": "finger opener pulls"},
        {"quantity": "angle", "value": wrist_words(angle["wrist"]), "words": "wrist"},
        {"quantity": "angle", "value": bend_words(angle["MCP"]), "words": "knuckles"},
        {"quantity": "angle", "value": bend_words(angle["PIP"]), "words": "middle joints"},
        {"quantity": "opening", "value": f"{gap:.0f} mm", "words": "opening"},
    ]


class HandView(pn.viewable.Viewer):
    """The hand picture, fed with what the model gives."""

    def __init__(self, state: ExploreState, **params: Any) -> None:
        super().__init__(**params)
        self._state = state
        self.picture = HandScene(sizing_mode="stretch_both", margin=0)
        state.param.watch(self._update, "scene")
        self._update()

    def __panel__(self) -> pn.viewable.Viewable:
        return self.picture

    def _update(self, *_: object) -> None:
        state, point, scene = self._state, self._state.point, self._state.scene
        recruited = _first(point.recruited)
        now = _moment(_first(point.angle_deg), point.points_mm[0], float(point.opening_mm[0]))
        words = ", ".join(f"{item['words']} {item['value']}" for item in thread_items(state))
        self.picture.param.update(
            **now,
            tension=_tension(_first(point.tension_n), _first(point.slip_n)),
            slack_mm=dict.fromkeys(("central", "terminal"), _slack_mm(float(point.slip_share[0]))),
            recruited={
                "openers": recruited["EDC"],
                "closers": max(recruited.get(name, 0.0) for name in CLOSERS),
            },
            current=state.amplitude_ma / 60.0,
            pads=_pads(scene.channel[0].pads),
            object={"name": scene.task.object, "diameter_mm": scene.task.diameter_mm},
            wrist_held=scene.hand.wrist_held_deg is not None,
            label=f"Hand from the thumb side: {words}.",
        )

    def play(self) -> None:
        """Show one cycle in its own time, from the model's own samples."""
        run = self._state.cycle.run
        every = np.arange(0.0, run.time_s[-1], _FRAME_S)
        which = np.minimum(np.searchsorted(run.time_s, every), run.time_s.size - 1)
        frames = []
        for t, i in zip(every, which, strict=True):
            angle = {joint: round(float(value[i]), 2) for joint, value in run.angle_deg.items()}
            share = {name: float(value[i]) for name, value in run.recruited.items()}
            frames.append({
                "t_ms": round(1e3 * float(t)),
                **_moment(angle, run.points_mm[i], float(run.opening_mm[i])),
                "tension": {"EDC": min(1.0, float(run.force_n["EDC"][i]) / _FULL_PULL_N)},
                "recruited": {"openers": share["EDC"], "closers": max(share.get(name, 0.0) for name in CLOSERS)},
                "current": float(run.current[0][i]) / 60.0,
            })
        self.picture.play(frames)

    def stop(self) -> None:
        """Back to the steady hand."""
        self.picture.stop()


def _first(values: dict[str, Any]) -> dict[str, float]:
    """One number a name, of arrays of one."""
    return {name: float(value[0]) for name, value in values.items()}


def _moment(angle: dict[str, float], points: Any, gap: float) -> dict[str, Any]:
    return {
        "angle_deg": {**angle, **thumb_deg()},
        "opening": {"mm": round(gap, 1), "points": np.round(points, 2).tolist()},
    }


def _tension(whole: dict[str, float], slips: dict[str, float]) -> dict[str, float]:
    shown = {name: min(1.0, whole.get(name, 0.0) / _FULL_PULL_N) for name in ("EDC", "FDP", "FDS")}
    return {**shown, **{name: min(1.0, 3.2 * value / _FULL_PULL_N) for name, value in slips.items()}}


def _slack_mm(share: float) -> float:
    """Waves of a slip in the picture: none while most of the opener's force reaches it, more as it loses it."""
    return _WAVES_MM * max(0.0, 0.75 - share)


def _pads(pads: sim.Pads) -> list[dict[str, float]]:
    """Where the pads lie on the drawn forearm, mm from its elbow end."""
    middle = pads.along_percent / 100.0 * _DRAWN_ARM_MM
    half, side = 0.5 * pads.centres_mm, pads.side_mm
    return [
        {"from_mm": max(2.0, middle + s * half - 0.5 * side), "to_mm": min(_DRAWN_ARM_MM - 2.0, middle + s * half + 0.5 * side)}
        for s in (-1.0, 1.0)
    ]
