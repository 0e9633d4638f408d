"""The hand scene: a forearm and hand from the thumb side, drawn in the browser from the model's angles.

Python sends the state of the model; the shape, the drawing and the playing of a movement happen in JavaScript
(``apps/web/hand/``), so that a movement of many frames is one message.
"""

from __future__ import annotations

import json
from collections.abc import Iterable, Mapping
from typing import Any, ClassVar

import param
from panel.custom import JSComponent

from graspwave.apps.told.posture import NEUTRAL_PADS_MM
from graspwave.apps.web.source import component, sheet

__all__ = ["JOINTS", "TENDONS", "HandScene", "frames_text"]

JOINTS = (
    "wrist", "MCP", "PIP", "DIP", "CMC", "THUMB_MCP", "IP", "CMC_RADIAL",
    *(f"{finger}.{joint}" for finger in ("index", "ring", "little") for joint in ("MCP", "PIP", "DIP")),
)
"""Joints of a state. One that names the first seven only is drawn too: its fingers follow one another."""
TENDONS = ("EDC", "FDP", "FDS", "central", "terminal")
_FRAME_KEYS = frozenset({"t_ms", "angle_deg", "tension", "slack_mm", "recruited", "current", "opening"})


def frames_text(frames: Iterable[Mapping[str, Any]]) -> str:
    """Frames as `HandScene.play` takes them, checked and written for the page."""
    sent = [dict(frame) for frame in frames]
    if not sent:
        raise ValueError(
            "'frames' must be a list of at least one frame (got none). Give the end posture as one frame."
        )
    last_ms = 0.0
    for frame in sent:
        unknown = sorted(set(frame) - _FRAME_KEYS)
        if unknown:
            raise ValueError(
                f"'frames' must be made of {sorted(_FRAME_KEYS)} (got {unknown[0]!r}). Remove or rename that key."
            )
        t_ms = frame.get("t_ms")
        if not isinstance(t_ms, (int, float)) or not t_ms >= last_ms:
            raise ValueError(
                f"'t_ms' must be 0 or more and never fall from frame to frame (got {t_ms} after {last_ms:g}). "
                "Sort the frames by time."
            )
        last_ms = float(t_ms)
    return json.dumps(sent, separators=(",", ":"))


class HandScene(JSComponent):
    """A picture of the hand in one posture, or playing a movement.

    A change of `angle_deg`, `tension`, `slack_mm`, `recruited`, `current` or `opening` is eased within 180 ms; with
    reduced motion the hand jumps and the start stays as a thin outline for a second. `play` shows the model's own
    samples instead. Set several at once with ``scene.param.update(...)``.
    """

    angle_deg = param.Dict(
        default={"wrist": 16, "MCP": 38, "PIP": 42, "DIP": 22, "CMC": 38, "THUMB_MCP": 8, "IP": 8},
        doc="Joint angles [deg], flexion positive: of the middle finger, ``index.MCP`` and so on of the others; CMC is abduction "
        "of the thumb from the palm, CMC_RADIAL its turn to the side.",
    )
    tension = param.Dict(
        default=dict.fromkeys(TENDONS, 0.0),
        doc="Force of each tendon as a share 0-1 of the largest force in the scene; ``ring.EDC`` and so on of a finger's own.",
    )
    slack_mm = param.Dict(
        default={"central": 0.0, "terminal": 0.0}, doc="Length to spare of the two finger slips [mm]; 0 is taut."
    )
    recruited = param.Dict(default={"openers": 0.0, "closers": 0.0}, doc="Recruited share of each muscle group, 0-1.")
    current = param.Number(default=0.0, bounds=(0, 1), doc="Strength of the glow under the pads, 0-1.")
    pads: Any = param.List(
        default=NEUTRAL_PADS_MM,  # type: ignore[call-overload]  # the stubs know no bounds here
        bounds=(2, 2),
        doc="Where the two pads lie, as distances [mm] from the elbow end of the drawn forearm; and if wanted "
        "`around_deg` (0 the middle of the back, below 0 the thumb's side), `round`, `swapped` and a `fault` of contact.",
    )
    opening = param.Dict(
        default=None,
        allow_None=True,
        doc="`mm` and the two `points` [mm] of the opening line; wrist at the origin, forearm along -x, y up. "
        "Without `points` the line is placed between the drawn pads; the number is always `mm`.",
    )
    object = param.Dict(
        default=None,
        allow_None=True,
        doc="`name` and `diameter_mm`; it stands on the bench, in the hand with `held`, or at `center_mm`, there with a "
        "`stand` down to the bench if wanted.",
    )
    bench = param.Dict(
        default=None, allow_None=True,
        doc="The way along a bench: `way_mm` in the picture, `at_mm` where the arm is on it, `place_mm` where the object goes, "
        "`cloth` and `helped` for what is under the arm. With it the arm moves and the bench stands still.",
    )
    tips = param.Boolean(default=False, doc="Show the second view in a corner: the hand from its finger tips.")
    fingers = param.Dict(default={}, doc="What is said of a finger that is touched, in words, by finger.")
    played_ms = param.Integer(default=-1, doc="Where a movement that is played has come to; -1 when none is.")
    caption = param.String(default="", doc="A few words at the lower edge on what is seen.")
    lit: Any = param.Selector(
        default="", objects=["", "openers", "closers", "slips"], doc="Tendons that stand out, while the others step back."
    )
    kept = param.Dict(default=None, allow_None=True, doc="Joint angles of a second hand, drawn as an outline.")
    angles = param.Boolean(default=False, doc="Draw the angle of each joint as an arc with its degrees.")
    upper = param.Dict(
        default=None, allow_None=True,
        doc="Pads of a channel on the upper arm, which is then drawn: `along_percent` from shoulder to elbow, `side_mm`, "
        "`current` 0-1.",
    )
    forearm: Any = param.Selector(
        default="pronated", objects=["pronated", "neutral", "supinated"],
        doc="Palm down; thumb up, seen from above; or palm up, with the back of the arm below.",
    )
    rests = param.Boolean(default=False, doc="Draw a table that forearm and palm lie on.")
    wrist_held = param.Boolean(default=False, doc="Draw a rest with two straps that holds the wrist.")
    side: Any = param.Selector(default="page", objects=["page", "left", "right"], doc="Which arm; `page`: as chosen there.")
    skin: Any = param.Selector(
        default="page",
        objects=["page", "clay", "sand", "umber", "deep"],
        doc="Tone of the skin; `page`: as chosen there.",
    )
    label = param.String(default="A forearm and hand from the thumb side.", doc="The scene as a sentence, read aloud.")

    _esm: ClassVar[str] = component("web/hand/component.js")
    _stylesheets: ClassVar[list[str]] = [sheet("web/hand/tips.css")]

    def play(self, frames: Iterable[Mapping[str, Any]]) -> None:
        """Play samples of a movement at the model's own times; they replace what is still being played.

        Parameters
        ----------
        frames : iterable of mapping
            Each has `t_ms` (milliseconds from now, never falling) and any of `angle_deg`, `tension`, `slack_mm`,
            `recruited`, `current` and `opening`, as the parameters of the same names. What a frame leaves out stays as
            it was. The hand keeps the last frame; the parameters themselves are not changed.

        Raises
        ------
        ValueError
            If there is no frame, a key is unknown, or the times fall.
        """
        self.play_text(frames_text(frames))

    def play_text(self, frames: str) -> None:
        """The same with frames written by `frames_text`, which a thread can do: a film of a cycle has hundreds."""
        self._send_msg({"type": "play", "frames": frames})

    def pause(self) -> None:
        """Hold a movement that is played where it is."""
        self._send_msg({"type": "pause"})

    def resume(self) -> None:
        """Go on with a held movement."""
        self._send_msg({"type": "resume"})

    def stop(self) -> None:
        """Stop playing and ease to the posture that the parameters hold."""
        self._send_msg({"type": "stop"})
