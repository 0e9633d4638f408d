"""Makes `apps/proof/proof.json` anew: what the reference tests set beside published numbers, and what else the page is made of.

    python -m tests.reference.write_proof                  # runs the reference tests, half a minute
    python -m tests.reference.write_proof --limits         # only what README.md says under "Limits"
    python -m tests.reference.write_proof --millimetres    # the effect of unpublished numbers too, some minutes on a busy machine

Nothing in it is typed: rows come from the tests as they run, what the model lacks from README.md, effects from
tests.bench.sensitivity.
"""

from __future__ import annotations

import json
import re
import sys
from pathlib import Path
from typing import Any

import pytest

HERE = Path(__file__).resolve().parent
ROOT = HERE.parents[1]
sys.path[:0] = [str(HERE), str(HERE.parent)]


class Writer:
    """Gathers the rows of a run."""

    def __init__(self) -> None:
        self.rows: list[dict[str, Any]] = []

    def pytest_configure(self, config: pytest.Config) -> None:
        from record import MADE

        config.stash[MADE] = self.rows


def limits_of_readme(text: str) -> list[str]:
    """The points under "Limits", a line each."""
    part = re.search(r"^## Limits\n(.*?)(?=^## |\Z|^Released)", text, re.MULTILINE | re.DOTALL)
    assert part, "README.md has no part '## Limits'"
    return [" ".join(point.split()) for point in re.split(r"^- ", part[1], flags=re.MULTILINE)[1:]]


def told(value: Any) -> str:
    """A number, or several, as the page writes them."""
    return ", ".join(f"{v:g}" for v in value) if isinstance(value, tuple) else f"{value:g}"


def effects_mm() -> tuple[dict[str, float], list[dict[str, Any]]]:
    """Widest openings as they are, and what each number does to them that is not published, at either end of its range, mm."""
    from hand_rows import ends, hand, unpublished, widest_mm, with_number

    asked = {"tight": hand("tight"), "supple": hand("supple"), "tight, wrist held": hand("tight", wrist_held_deg=35.0)}
    plain = {key: widest_mm(scene) for key, scene in asked.items()}
    found = []
    for name, record in unpublished().items():
        tried, changes = ends(record), []
        for end in tried:
            with with_number(name, end):
                changes.append({key: round(widest_mm(scene) - plain[key], 2) for key, scene in asked.items()})
        low, high = map(told, tried)
        found.append({"name": f"hand.{name}", "mark": record.mark, "value": told(record.value), "low": low, "high": high,
                      "mm": {key: [change[key] for change in changes] for key in asked}})
    return {key: round(mm, 1) for key, mm in plain.items()}, found


def text_of(proof: dict[str, Any]) -> str:
    """One row a line, so that a change can be read."""
    parts = []
    for key, value in proof.items():
        if isinstance(value, list):
            lines = ",\n".join("  " + json.dumps(one, ensure_ascii=False) for one in value)
            parts.append(f' "{key}": [\n{lines}\n ]')
        else:
            parts.append(f' "{key}": {json.dumps(value, ensure_ascii=False)}')
    return "{\n" + ",\n".join(parts) + "\n}\n"


def main(arguments: list[str]) -> int:
    writer, out = Writer(), ROOT / "apps" / "proof" / "proof.json"
    before = json.loads(out.read_text("utf-8")) if out.exists() else {}
    limits = limits_of_readme((ROOT / "README.md").read_text("utf-8"))
    if "--limits" in arguments:
        out.write_text(text_of({**before, "limits": limits}), "utf-8")
        return 0
    failed = pytest.main([str(HERE), "-p", "no:xdist", "-p", "no:cacheprovider"], plugins=[writer])
    if failed:
        return int(failed)
    widest, effects = before.get("widest_mm", {}), before.get("effects", [])
    if "--millimetres" in arguments:
        widest, effects = effects_mm()
    order = sorted(writer.rows, key=lambda one: one["test"].split("::")[0])  # stable: as they stand in their file
    out.write_text(text_of({"rows": order, "limits": limits, "widest_mm": widest, "effects": effects}), "utf-8")
    print(f"{out}: {len(order)} rows, {sum(not one['met'] for one in order)} known misses, {len(limits)} limits")
    return 0


if __name__ == "__main__":
    raise SystemExit(main(sys.argv[1:]))
