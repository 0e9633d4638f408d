"""A run as files: a table of samples, a summary of numbers. Both say what they are not for."""

from __future__ import annotations

import csv
import dataclasses
import io
import json
from typing import Any

import numpy as np

from graspwave import simulator as sim
from graspwave.apps import notices
from graspwave.simulator.hand import CLAW_GRADES, claw_grades

__all__ = ["run_csv", "run_json"]


def run_csv(run: sim.Run) -> str:
    """Samples of a run, one row each, units in the header; lines that start with # are the caution."""
    columns: list[tuple[str, Any]] = [("time [s]", run.time_s)]
    columns += [(f"current of channel {i + 1} [mA]", value) for i, value in run.current.items()]
    for name in run.force_n:
        columns += [
            (f"{name} recruited [1]", run.recruited[name]),
            (f"{name} force [N]", run.force_n[name]),
            (f"{name} force rate lost [1]", run.tired[name]),
        ]
    columns += [(f"{joint} [deg, flexion positive]", value) for joint, value in run.angle_deg.items()]
    columns += [("opening [mm]", run.opening_mm), ("claw [0 or 1]", run.claw.astype(int))]
    text = io.StringIO()
    text.write(f"# {notices.caution_text()}\n")
    writer = csv.writer(text, lineterminator="\n")
    writer.writerow([name for name, _ in columns])
    writer.writerows([[f"{value:.6g}" for value in row] for row in np.column_stack([v for _, v in columns])])
    return text.getvalue()


def run_json(scene: sim.Scene, run: sim.Run, curve: sim.Opening) -> str:
    """Summary of a run: scene, opening curve, dose with its notices, what was reached."""
    widest = int(np.argmax(curve.opening_mm))
    summary = {
        "caution": notices.caution_text(),
        "title": scene.title,
        "scene_toml": scene.dumps(),
        "duration_s": float(run.time_s[-1]),
        "pulses": [len(train) for train in run.trains],
        "opening_mm": {
            "at_rest": float(run.opening_mm[0]), "highest": float(run.opening_mm.max()),
            "curve_amplitude_ma": curve.amplitude_ma.tolist(), "curve": curve.opening_mm.round(2).tolist(),
            "widest_at_ma": float(curve.amplitude_ma[widest]), "widest": float(curve.opening_mm[widest]),
        },
        "claw_somewhere": bool(run.claw.any()),
        "claw_at_most": CLAW_GRADES[max(int(grade.max()) for grade in claw_grades(run.angle_deg).values())],
        "highest_force_n": {name: float(value.max()) for name, value in run.force_n.items()},
        "force_rate_lost_at_the_end": {name: float(value[-1]) for name, value in run.tired.items()},
        "dose": [_plain(dose) for dose in run.dose],
    }
    return json.dumps(summary, indent=2, ensure_ascii=False, allow_nan=False) + "\n"


def _plain(value: Any) -> Any:
    """Records as what JSON holds; what is not finite becomes null."""
    if dataclasses.is_dataclass(value) and not isinstance(value, type):
        return {f.name: _plain(getattr(value, f.name)) for f in dataclasses.fields(value)}
    if isinstance(value, (tuple, list)):
        return [_plain(item) for item in value]
    if isinstance(value, (float, np.floating)):
        return float(value) if np.isfinite(value) else None
    return value
