"""The pad map: the forearm's skin unrolled, with both pads to scale, and a cut through the arm between them."""

from __future__ import annotations

import math
from typing import Any, ClassVar

import numpy as np
import panel as pn
import param

from graspwave import simulator as sim
from graspwave.apps.controls import Control, NumberRow
from graspwave.apps.desk.beside import beside
from graspwave.apps.desk.state import DeskState
from graspwave.apps.told.nerve_studies import answer_words, muscle_places
from graspwave.apps.told.scenes import without_amplitude
from graspwave.apps.web.source import component, sheet
from graspwave.simulator.conductor.closed_forms import disc_potential_v
from graspwave.simulator.conductor.places import limb_radius_mm
from graspwave.simulator.facts import number

__all__ = ["PadMap", "PadMapView"]

_PATH = "channel.0.pads."
_MOVED = ("along_percent", "around_deg", "spacing_mm")
_CELLS = 22

_FIELDS = (("along_percent", "Along", "%", 1), ("around_deg", "Round", "°", 5), ("spacing_mm", "Gap", "mm", 5))


class PadMap(Control):
    """The picture; drawing and dragging happen in ``pad_map.js``.

    Parameters
    ----------
    pads
        ``along_percent, around_deg, spacing_mm, side_mm, round, swap, contact, shown`` and `n`, the number of the last move
        taken in.
    limits
        Lowest and highest of what can be moved.
    arm
        ``length_mm, elbow_mm, wrist_mm`` (radii of the skin), ``fat_mm, included_mm`` (fat the depths hold) and ``spread_mm``.
    muscles
        As `nerve_studies.muscle_places` gives them.
    field
        Field in the cut, row by row from the back of the arm, as a share of that under the fat.
    spoken
        The picture as a sentence.
    move
        What the visitor moved, with a running number `n`.
    rests
        Counts the ends of drags.
    """

    pads = param.Dict(default={})
    limits = param.Dict(default={})
    arm = param.Dict(default={})
    muscles = param.List(default=[])
    field = param.List(default=[])
    spoken = param.String(default="")
    move = param.Dict(default={})
    rests = param.Integer(default=0)

    _esm: ClassVar[str] = component("desk/pad_map.js")
    _stylesheets: ClassVar[list[str]] = [*Control._stylesheets, sheet("desk/pad_map.css")]


class PadMapView(pn.viewable.Viewer):
    """Pad map with its number fields and a sentence on who answers first; it writes and follows the scene."""

    active = param.Boolean(default=True, doc="Whether it is looked at; if not, nothing is worked out.")

    def __init__(self, state: DeskState, **params: Any) -> None:
        super().__init__(**params)
        self._state = state
        self._seen: Any = None
        self._limits = {key: _limits(key) for key in _MOVED}
        self.map = PadMap(limits={key: list(ends) for key, ends in self._limits.items()})
        self.fields = NumberRow(
            [{"key": key, "label": label, "unit": unit, "start": self._limits[key][0], "end": self._limits[key][1], "step": step}
             for key, label, unit, step in _FIELDS],
            label="Place of the pads", value=self._place(),
        )
        self.words = pn.pane.HTML("", sizing_mode="stretch_width", margin=0, stylesheets=[sheet("desk/pad_words.css")])
        self._box = pn.Column(
            self.map, self.fields, self.words, sizing_mode="stretch_width", margin=0, styles={"gap": "8px"},
        )
        self.map.param.watch(self._moved, "move")
        self.map.param.watch(lambda *_: state.rest_slider(), "rests")
        self.fields.param.watch(lambda event: self.apply(event.new), "value")
        beside(state, self.fields, *(_PATH + key for key in _MOVED))
        state.param.watch(self._follow, "scene")
        self.param.watch(self._follow, "active")
        self._follow()

    def __panel__(self) -> pn.viewable.Viewable:
        return self._box

    def apply(self, place: dict[str, Any]) -> bool:
        """Write a place of the pads into the scene, each number moved into its range; False where it was refused."""
        wanted: dict[str, object] = {}
        for key in _MOVED:
            value = place.get(key)
            if isinstance(value, (int, float)) and math.isfinite(value):
                low, high = self._limits[key]
                new = round(min(max(float(value), low), high), 1)
                if new != round(getattr(self._pads, key), 1):
                    wanted[_PATH + key] = new
        return not wanted or self._state.change_all(wanted, "pads")

    def _moved(self, event: Any) -> None:
        self.apply(event.new)
        self.map.pads = self._drawn(int(event.new.get("n", 0)))  # also where nothing changed: the picture waits for it

    @property
    def _pads(self) -> sim.Pads:
        return self._state.scene.channel[0].pads

    def _place(self) -> dict[str, float]:
        return {key: round(getattr(self._pads, key), 1) for key in _MOVED}

    def _drawn(self, n: int) -> dict[str, Any]:
        pads = self._pads
        drawn = {
            "side_mm": pads.side_mm, "round": pads.shape == "round", "swap": pads.swap, "contact": pads.contact,
            "shown": pads.limb == "forearm",
        }
        return {**self._place(), **drawn, "n": n}

    def _follow(self, *_: object) -> None:
        scene = self._state.scene
        seen = without_amplitude(scene)
        if not self.active or seen == self._seen:
            return
        self._seen = seen
        on_forearm = self._pads.limb == "forearm"
        fat = _more_fat(scene)
        words = answer_words(scene) + self._overhang()
        self.map.param.update(
            arm={
                "length_mm": number("recruitment.limb.forearm_mm"), "fat_mm": scene.hand.fat_mm,
                "included_mm": number("recruitment.tissue.fat_included_mm"),
                "elbow_mm": number("recruitment.limb.radius_elbow_mm") + fat,
                "wrist_mm": number("recruitment.limb.radius_wrist_mm") + fat,
                "spread_mm": number("recruitment.axon.place_spread_mm"),
            },
            muscles=muscle_places(scene) if on_forearm else [],
            field=_field(scene) if on_forearm else [],
            spoken=f"Forearm skin unrolled, elbow left, back of the arm above, palm side below. {words}",
            pads=self._drawn(int(self.map.move.get("n", 0))),
        )
        self.fields.value = self._place()
        self.words.object = f"<p>{words if on_forearm else 'These pads lie on the upper arm, which has no map. ' + words}</p>"

    def _overhang(self) -> str:
        pads, length = self._pads, number("recruitment.limb.forearm_mm")
        middle, reach = pads.along_percent / 100.0 * length, 0.5 * pads.centres_mm + 0.5 * pads.side_mm
        over = [word for word, past in (("near pad lies past the elbow", reach - middle),
                                        ("far pad lies past the wrist", middle + reach - length)) if past > 2.0]
        return f" Part of the {' and the '.join(over)}." if over and pads.limb == "forearm" else ""


def _limits(key: str) -> tuple[float, float]:
    low, high = sim.setting(_PATH + key).range or (0.0, 100.0)
    return float(low), float(high)


def _skin_mm(scene: sim.Scene) -> float:
    """Radius of the skin half-way between the pads."""
    x_mm = np.asarray(scene.channel[0].pads.along_percent / 100.0 * number("recruitment.limb.forearm_mm"))
    return float(limb_radius_mm(x_mm)) + _more_fat(scene)


def _more_fat(scene: sim.Scene) -> float:
    return scene.hand.fat_mm - number("recruitment.tissue.fat_included_mm")


def _field(scene: sim.Scene) -> list[float]:
    """Field in the cut half-way between the pads, over a square round the arm, as a share of that under the fat.

    The closed form of an even half-space under the pads: half-way between two equal pads the field runs along the arm.
    A picture of how it fades; what wakes the muscles is the solved forearm.
    """
    pads, skin = scene.channel[0].pads, _skin_mm(scene)
    at = skin * ((np.arange(_CELLS) + 0.5) / _CELLS * 2.0 - 1.0)
    right, down = np.meshgrid(at, at)
    turn = math.radians(pads.around_deg)
    # towards the middle of the pads, and across
    depth = skin - (right * math.sin(turn) - down * math.cos(turn))
    across = right * math.cos(turn) + down * math.sin(turn)
    size = _half_way(pads, across, np.maximum(depth, 0.5)) / _half_way(pads, np.zeros(1), np.full(1, scene.hand.fat_mm))
    shade = np.where(np.hypot(right, down) <= skin * 1.06, np.minimum(size, 1.0), 0.0)
    return [round(float(v), 2) for v in shade.ravel()]


def _half_way(pads: sim.Pads, across_mm: Any, depth_mm: Any) -> Any:
    half, radius, step = 0.5 * pads.centres_mm, 10.0 * math.sqrt(pads.size_cm2 / math.pi), 1.0

    def potential(x: float) -> Any:
        near, far = np.hypot(x + half, across_mm), np.hypot(x - half, across_mm)
        return disc_potential_v(1.0, radius, 1.0, near, depth_mm) - disc_potential_v(1.0, radius, 1.0, far, depth_mm)

    return np.abs(potential(step) - potential(-step))


