"""Practice: repetitions of reach, grasp, move and release under a timer or a held switch.

Stage ``practice``, after ``reach``. Read in this order: `phases` (the session), `opening` (what the hand does), `control` (when
current runs), `tiring` (what it costs), `log` (what is told), `table` (change one thing). It counts movements, not learning.
"""

from __future__ import annotations

from graspwave.simulator.scene import Scene, SceneError, setting

from .log import CAUSES, PHASES, Event, Practice
from .phases import Session
from .table import Change, change_one_thing, elbow_channel, objects, with_object

__all__ = [
    "CAUSES", "PHASES", "Change", "Event", "Practice", "change_one_thing", "elbow_channel", "objects", "run_practice",
    "with_object",
]


def run_practice(
    scene: Scene, control: str = "timed", seed: int | None = None, minutes: float | None = None, *, carry_pulses: bool = True
) -> Practice:
    """Practise a task for a while.

    Parameters
    ----------
    scene : Scene
        Hand, channels, task. The first channel opens the hand; a second one over the triceps helps the reach.
    control : {"timed", "held"}
        The timer's cycle, for which the person waits, or a switch that is held.
    seed : int, optional
        Of every random draw; the session's if not given.
    minutes : float, optional
        Set-up and warm-up included; the session's if not given.
    carry_pulses : bool, optional
        False leaves out every on time of the timer that would start while the object is held.

    Returns
    -------
    Practice

    Raises
    ------
    SceneError
        An unknown control, a length or seed out of range, or a first channel that is not on the forearm.

    Notes
    -----
    Movement times: pace x Fitts' law. Opening: equilibrium of the hand's model at the current, the tiring and the flexor
    drive of the moment. A stimulus drops the object when the torque it takes from the own grip, and the calm it brings to
    the flexors, leave too little friction to hold its weight. Hand and opening are never twice alike, so that tries fail; the
    own grip goes on after the wish to let go, and stimulation may open the hand against it. Limits: one object, no learning, no
    boredom; most chances are invented and marked so in ``facts/practice.toml``. Tiring is that of one layer, the part recruited
    at the set current.

    Examples
    --------
    >>> from graspwave import simulator as sim
    >>> practice = sim.run_practice(sim.presets()["supple"].replace("session.minutes", 3), "held")
    >>> practice.attempts >= practice.repetitions
    True
    """
    if control not in ("timed", "held"):
        raise SceneError("control", "one of timed, held", control)
    chosen = scene.session.seed if seed is None else seed
    lasts = scene.session.minutes if minutes is None else float(minutes)
    for name, value in (("session.seed", chosen), ("session.minutes", lasts)):
        low, high = setting(name).range or (0.0, 0.0)
        if not low <= value <= high:
            raise SceneError(name.split(".")[1], f"{low:g} to {high:g}", value)
    return Session(scene, control, int(chosen), lasts, carry_pulses).run()
