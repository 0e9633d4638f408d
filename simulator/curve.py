"""The opening of a hand against current: steady, untired, each current risen to from nothing.

Stage ``curve``, after ``rising``. It only chains; no physics here.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import ArrayLike, NDArray

from graspwave.simulator import hand as mechanics
from graspwave.simulator import show
from graspwave.simulator.driving import full_force_n
from graspwave.simulator.field import finger_slips
from graspwave.simulator.results import Result
from graspwave.simulator.rising import Risen, risen
from graspwave.simulator.scene import Scene, SceneError, checked_scene

__all__ = ["Opening", "opening_curve", "opening_curves", "tired_opening_mm"]

Array = NDArray[np.float64]


@dataclass(frozen=True, slots=True, eq=False, repr=False)
class Opening(Result):
    """Opening of the hand against current, untired and at rest.

    Attributes
    ----------
    amplitude_ma : ndarray, shape (n,)
    opening_mm : ndarray, shape (n,)
        Widest pot between thumb and fingers.
    angle_deg : dict of str to ndarray
        By joint: wrist; MCP, PIP, DIP of the middle finger, ``index.MCP`` and so on of the others, flexion positive; of the thumb
        CMC (abduction), CMC_RADIAL, THUMB_MCP, IP.
    force_n : dict of str to ndarray
        By muscle, whole muscle, mean of the fused pull.
    recruited : dict of str to ndarray
        Share of each muscle's axons.
    claw : ndarray of bool, shape (n,)
        The middle finger's MCP past straight with PIP bent more than 20 degrees (source binder-markey-2019).
    claw_by_finger : dict of str to ndarray of bool, shape (n,)
    gap_mm : dict of str to ndarray, shape (n,)
        Free gap of each finger to the thumb.
    points_mm : ndarray, shape (n, 2, 2)
        Ends of the shortest line from thumb to fingers; wrist at the origin, forearm along -x, y to the back.
    tension_n : dict of str to ndarray
        Active and passive tension of the muscles that move the hand, whole muscle; also by finger, as ``index.EDC``.
    slip_n : dict of str to ndarray
        Tension of the central and the terminal slip of the middle finger.
    slip_share : ndarray, shape (n,)
        Share of its extensor's force that reaches these slips; small where they are slack.
    """

    amplitude_ma: Array
    opening_mm: Array
    angle_deg: dict[str, Array]
    force_n: dict[str, Array]
    recruited: dict[str, Array]
    claw: NDArray[np.bool_]
    claw_by_finger: dict[str, NDArray[np.bool_]]
    gap_mm: dict[str, Array]
    points_mm: Array
    tension_n: dict[str, Array]
    slip_n: dict[str, Array]
    slip_share: Array

    @property
    def index_deg(self) -> dict[str, Array]:
        """MCP, PIP, DIP of the index."""
        return {joint: self.angle_deg[f"index.{joint}"] for joint in mechanics.JOINTS[1:]}

    def _said(self) -> list[str]:
        i, n = int(np.argmax(self.opening_mm)) if self.opening_mm.size else 0, self.opening_mm.size
        if not n:
            return ["Opening at no current: nothing was asked for"]
        claw = self.amplitude_ma[self.claw]
        return [
            f"Opening of the hand at {n} currents, {self.amplitude_ma.min():g} to {self.amplitude_ma.max():g} mA",
            f"widest {self.opening_mm[i]:.1f} mm at {self.amplitude_ma[i]:g} mA; {self.opening_mm[0]:.1f} mm at the first, "
            f"{self.opening_mm[-1]:.1f} mm at the last",
            (f"claw by the published rule at {claw.size} currents, from {claw.min():g} mA" if claw.size else "no claw")
            + f"; {len(self.angle_deg)} joints, {len(self.force_n)} muscles",
        ]

    def _drawn(self, figure: Any, **look: Any) -> Any:
        drawn = {"opening": (self.amplitude_ma, self.opening_mm)}
        return show.lines("Opening against current", "Current [mA]", "Opening [mm]", drawn, figure, **look)

    def _columns(self) -> Mapping[str, Any]:
        found = {"current [mA]": self.amplitude_ma, "opening [mm]": self.opening_mm, "claw": self.claw}
        found |= {f"{joint} [deg]": value for joint, value in self.angle_deg.items()}
        found |= {f"{name} force [N]": value for name, value in self.force_n.items()}
        return found | {f"{name} recruited [1]": value for name, value in self.recruited.items()}


def opening_curve(scene: Scene, amplitude_ma: ArrayLike) -> Opening:
    """Opening of the hand at rest for each current of the first channel, untired.

    Parameters
    ----------
    scene : Scene
        All settings but the first channel's amplitude; a second channel on the same limb adds at its own amplitude.
    amplitude_ma : array_like, shape (n,)
        0 or more, mA.

    Returns
    -------
    Opening

    Raises
    ------
    SceneError
        An amplitude that is negative or not finite.

    Notes
    -----
    Force is recruited share x fused pull at the train's frequency x full force: the mean after the first second,
    without tiring. Every posture is an equilibrium of `graspwave.simulator.hand`, the one that a current rising from nothing
    comes to (`simulator.rising`), whatever other currents are asked for. No published curve of opening against current in
    people is known; the shape is a result of the model.

    Examples
    --------
    >>> from graspwave import simulator as sim
    >>> curve = sim.opening_curve(sim.presets()["tight"], [0.0, 10.0, 20.0])
    >>> curve.opening_mm.shape, sorted(curve.angle_deg)[:3]
    ((3,), ['CMC', 'CMC_RADIAL', 'DIP'])
    """
    return opening_curves([scene], amplitude_ma)[0]


def opening_curves(scenes: Sequence[Scene], amplitude_ma: ArrayLike) -> list[Opening]:
    """Openings of several hands against current, each as `opening_curve` has it; all postures are found in one call.

    Parameters
    ----------
    scenes : sequence of Scene
        At least one; they may differ in all.
    amplitude_ma : array_like, shape (n,)
        0 or more, mA; for all of them.

    Returns
    -------
    list of Opening
        In the order of the scenes.

    Raises
    ------
    SceneError
        As `opening_curve`.

    Examples
    --------
    >>> from graspwave import simulator as sim
    >>> hands = sim.presets()
    >>> supple, tight = sim.opening_curves([hands["supple"], hands["tight"]], [18.0])
    >>> bool(supple.opening_mm[0] > tight.opening_mm[0])
    True
    """
    current = np.atleast_1d(np.asarray(amplitude_ma, dtype=np.float64))
    for scene in scenes:
        checked_scene(scene)
    if current.ndim != 1 or not np.all(np.isfinite(current) & (current >= 0.0)):
        raise SceneError("amplitude_ma", "finite and 0 or more", amplitude_ma)
    ways = [risen(scene, current) for scene in scenes]
    postures = mechanics.equilibria([way.asked for way in ways])
    return [_opening(current, way, posture) for way, posture in zip(ways, postures, strict=True)]


def _opening(current: Array, way: Risen, posture: mechanics.Posture) -> Opening:
    muscles = [name for name in way.drive if name not in finger_slips()]
    return Opening(
        amplitude_ma=current, opening_mm=posture.opening_mm, angle_deg=posture.angle_deg,
        force_n={name: way.drive[name] * full_force_n(name) for name in muscles},
        recruited={name: way.recruited[name] for name in muscles},
        claw=posture.claw, claw_by_finger=posture.claw_by_finger, gap_mm=posture.gap_mm,
        points_mm=posture.opening_points_mm, tension_n=posture.tension_n,
        slip_n={"central": posture.central_slip_per_ray_n, "terminal": posture.terminal_slip_per_ray_n},
        slip_share=posture.slip_share,
    )


def tired_opening_mm(scene: Scene, kept: ArrayLike) -> Array:
    """Opening at the scene's own current when the stimulated muscles have a share of their pull left.

    Parameters
    ----------
    scene : Scene
    kept : array_like, shape (n,)
        0 to 1; one share for all stimulated muscles.

    Returns
    -------
    ndarray, shape (n,)

    Raises
    ------
    SceneError
        A share out of range.

    Notes
    -----
    Past the current of its widest opening a hand may open wider as it tires: the pull was more than it wanted. That is no gain.

    Examples
    --------
    >>> from graspwave import simulator as sim
    >>> fresh, tired = sim.tired_opening_mm(sim.presets()["supple"], [1.0, 0.5])
    >>> bool(tired < fresh)
    True
    """
    share = np.atleast_1d(np.asarray(kept, dtype=np.float64))
    if share.ndim != 1 or not np.all((share >= 0.0) & (share <= 1.0)):
        raise SceneError("kept", "0 to 1", kept)
    now = np.array([scene.channel[0].pulse.amplitude_ma])
    postures = mechanics.equilibria([risen(scene, now, left=float(one)).asked for one in share])
    return np.array([posture.opening_mm[0] for posture in postures])
