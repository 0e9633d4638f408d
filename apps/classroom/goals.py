"""Goals of a bench: whether settings meet them, and the best that one change does; worked out from the bench's own pictures."""

from __future__ import annotations

from collections.abc import Awaitable, Callable, Iterator, Mapping
from typing import Any

from graspwave.apps.teach.mirror import AMPLITUDE

__all__ = ["AMPLITUDE", "best", "changed", "first_met", "meets"]

_CLAW_DEG = 20.0
"""A claw is a base joint past straight with the middle joint bent over this (Binder-Markey 2019, as the lessons have it)."""

_PLACES = 7
Settings = Mapping[str, float | None]


def meets(goals: list[Mapping[str, Any]], live: Mapping[str, Any], at: int) -> bool:
    """Whether a bench meets all its goals at one of its samples.

    Parameters
    ----------
    goals : list of mapping
        ``within`` (lowest and highest by measure) and ``claw`` (true, false or None).
    live : mapping
        The bench's picture.
    at : int
        Number of the sample.
    """
    angle = {name: values[at] for name, values in live["angle_deg"].items()}
    value = {"current_ma": live["amplitude_ma"][at], "opening_mm": live["opening_mm"][at], "wrist_deg": angle["wrist"],
             "base_deg": angle["MCP"], "middle_deg": angle["PIP"]}
    claw = angle["MCP"] <= 0.0 and angle["PIP"] > _CLAW_DEG
    return all(
        all(low <= value[key] <= high for key, (low, high) in goal["within"].items()) and goal["claw"] in (None, claw)
        for goal in goals
    )


def first_met(goals: list[Mapping[str, Any]], live: Mapping[str, Any]) -> int | None:
    """Number of the sample of least current that meets all goals; None where none does."""
    return next((at for at in range(len(live["amplitude_ma"])) if meets(goals, live, at)), None)


def changed(bench: Mapping[str, Any], settings: Settings) -> int:
    """How many settings of a bench differ from where it starts."""
    return sum(setting["path"] in settings and settings[setting["path"]] != setting["value"] for setting in bench["settings"])


def _tries(bench: Mapping[str, Any]) -> Iterator[tuple[str, Settings]]:
    """Settings to be tried: the start, and every other setting by itself at places along its range."""
    yield "", {}
    for setting in bench["settings"]:
        if setting["path"] == AMPLITUDE or "choices" in setting:
            continue
        low, high, step = setting["low"], setting["high"], setting["step"]
        for place in range(_PLACES):
            value = low + round((high - low) * place / (_PLACES - 1) / step) * step
            unit = setting.get("unit") or ""
            words = f"{setting['label']}: {value:g}{'' if unit in ('', '°') else ' '}{unit}"
            yield words, {setting["path"]: round(min(value, high), 6)}


async def best(
    bench: Mapping[str, Any], ask: Callable[[Settings], Awaitable[Mapping[str, Any] | None]],
) -> dict[str, Any] | None:
    """The least current that meets all goals with at most one other setting changed; None where none does.

    Parameters
    ----------
    bench : mapping
        With ``goals`` and ``settings``.
    ask : callable
        The bench's picture for settings.

    Returns
    -------
    dict or None
        ``ma``, ``mm``, ``changed`` (settings beside the current, 0 or 1) and ``words``.
    """
    found: dict[str, Any] | None = None
    for words, settings in _tries(bench):
        live = await ask(settings)
        at = None if live is None else first_met(bench["goals"], live)
        if live is None or at is None:
            continue
        one = {"ma": live["amplitude_ma"][at], "mm": live["opening_mm"][at], "changed": len(settings), "words": words}
        if found is None or (one["ma"], one["changed"]) < (found["ma"], found["changed"]):
            found = one
    return found
