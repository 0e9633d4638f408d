"""How much the widest opening depends on each number of the hand that is not published.

    python -m tests.bench.sensitivity

Each is changed by 20 % down and up, all else as it is; a table of millimetres, the largest effect first. Lengths of
fibres at zero are changed by 0.02 instead, and angles of stops by 5 degrees: 20 % of them would be another hand.
"""

from __future__ import annotations

import numpy as np

from graspwave import simulator as sim
from graspwave.simulator.facts import Fact, facts_under
from graspwave.simulator.hand import HandModel, changed, equilibrium, scene_hand
from graspwave.simulator.run import drive_of_hand, effective_hand, stimulated
from graspwave.simulator.scene import Scene

CURRENT = np.linspace(0.0, 40.0, 401)  # fine, since the widest opening can stand beside a fold
SHARE, LENGTH, STOP_DEG = 0.2, 0.02, 5.0
STOPS = ("mcp.extension_deg", "mcp.flexion_deg", "pip.extension_deg", "pip.flexion_deg", "dip.extension_deg",
         "dip.flexion_deg", "contact.mcp_deg", "contact.pip_deg", "contact.dip_deg")
LEFT_OUT = ("metric", "reflex", "claw", "friction", "helping", "index", "table")  # no part in a steady opening without help
LEAST_MM = 0.5


def scenes() -> dict[str, Scene]:
    presets = sim.presets()
    return {"tight": presets["tight"], "supple": presets["supple"],
            "tight, held 35": presets["tight"].replace("hand.wrist_held_deg", 35.0)}


def widest_mm(scene: Scene, model: HandModel) -> float:
    drive = drive_of_hand(stimulated(scene, CURRENT)[1], effective_hand(scene), CURRENT.size)
    return float(equilibrium(effective_hand(scene), drive, model=model).opening_mm.max())


def step_of(name: str, value: float) -> float:
    if name.endswith(("length_at_zero", "stretch_from")):
        return LENGTH
    return STOP_DEG if name in STOPS else SHARE * abs(value)


def unpublished() -> dict[str, Fact]:
    return {
        name: record for name, record in facts_under("hand").items()
        if record.mark != "published" and not isinstance(record.value, tuple) and name.split(".")[0] not in LEFT_OUT
        and record.value != 0.0
    }


def table() -> tuple[dict[str, float], list[tuple[str, str, list[float]]]]:
    """Widest openings as they are, and rows of name, mark and changes (down, up for each scene)."""
    asked, rows = scenes(), []
    plain = {key: widest_mm(scene, scene_hand()) for key, scene in asked.items()}
    for name, record in unpublished().items():
        value, effect = float(record.value), []
        for key, scene in asked.items():
            for sign in (-1.0, 1.0):
                other = changed(scene_hand(), **{name.replace(".", "__"): value + sign * step_of(name, value)})
                effect.append(widest_mm(scene, other) - plain[key])
        rows.append((name, record.mark, effect))
    return plain, sorted(rows, key=lambda row: -max(abs(e) for e in row[2]))


def main() -> None:
    plain, rows = table()
    print("widest opening [mm]: " + ", ".join(f"{key} {value:.1f}" for key, value in plain.items()))
    print(f"{'number':32s} {'mark':10s} " + " ".join(f"{key:>16s}" for key in plain))
    told = [row for row in rows if max(abs(e) for e in row[2]) >= LEAST_MM]
    for name, mark, effect in told:
        pairs = " ".join(f"{a:+7.1f} {b:+8.1f}" for a, b in zip(effect[::2], effect[1::2], strict=True))
        print(f"{name:32s} {mark:10s} {pairs}")
    print(f"{len(rows) - len(told)} more numbers change it by less than {LEAST_MM} mm")


if __name__ == "__main__":
    main()
