"""A scene as one file: its hand, its curve, the chain and why, under a slider of the current and beside three pinned changes."""

from __future__ import annotations

from collections.abc import Sequence
from html import escape
from typing import Any

from graspwave import simulator as sim
from graspwave.apps.carry.packed import packed
from graspwave.apps.files.one_file import one_file
from graspwave.apps.look.plain import plain_page, step_sheets
from graspwave.apps.teach.bench import setting_of
from graspwave.apps.teach.pictures import why_data
from graspwave.apps.told.live_hand import AMPLITUDE, LIVE_MA, live, value_of
from graspwave.apps.told.numbers import said_ma
from graspwave.apps.web.source import address

__all__ = ["MOST_PINS", "pinned", "scene_file", "view_of"]

MOST_PINS = 3
_SHORT = 0.99
_TIGHT = 0.95
"""Closers this long are left as they are, and a supple hand is set beside ones of this length."""


def pinned(scene: sim.Scene, pins: Sequence[str] = ()) -> list[tuple[str, sim.Scene]]:
    """Changes that a scene is set beside, in words, with the changed scenes.

    Parameters
    ----------
    scene : Scene
    pins : sequence of str
        As ``setting=value``, a setting by its path; ``free`` lets the wrist go. Chosen to fit the scene where none is given: the
        wrist held straight or let go, closers of another length, half the phase.

    Raises
    ------
    SceneError
        More than `MOST_PINS`, one that is no change, or a setting or value that cannot be.
    """
    if len(pins) > MOST_PINS:
        raise sim.SceneError("pin", f"at most {MOST_PINS} changes", len(pins), "leave some out")
    pairs = [_pair(pin) for pin in pins] or _fitting(scene)
    found = []
    for path, value in pairs:
        if value == value_of(scene, path):
            raise sim.SceneError("pin", "a change", f"{path}={value}", "the scene has this already")
        changed = scene.replace(path, value)
        found.append((_words(changed, path), changed))
    return found


def _pair(pin: str) -> tuple[str, Any]:
    path, sign, text = (part.strip() for part in pin.partition("="))
    if not sign or not path or not text:
        raise sim.SceneError("pin", "setting=value", pin, "for example hand.wrist_held_deg=0")
    if text.lower() in ("true", "false"):
        return path, text.lower() == "true"
    if text == "free":
        return path, None
    try:
        return path, float(text)
    except ValueError:
        return path, text


def _fitting(scene: sim.Scene) -> list[tuple[str, Any]]:
    held, factor = scene.hand.wrist_held_deg is not None, scene.hand.flexor_length_factor
    phase = scene.channel[0].pulse.phase_us
    return [
        ("hand.wrist_held_deg", None if held else 0.0), ("hand.flexor_length_factor", 1.0 if factor < _SHORT else _TIGHT),
        ("channel.0.pulse.phase_us", phase / 2 if phase >= 150.0 else phase * 2),
    ]


def _words(scene: sim.Scene, path: str) -> str:
    """A changed setting in words, with its value."""
    if path == "hand.wrist_held_deg":
        held = scene.hand.wrist_held_deg
        if not held:
            return "Wrist let free" if held is None else "Wrist held straight"
        return f"Wrist held {abs(held):g}° {'back' if held < 0.0 else 'down'}"
    setting = setting_of(scene, path)
    if "choices" in setting:
        said = dict(map(tuple, setting["choices"]))[setting["value"]]
    else:
        unit = setting["unit"]
        said = f"{setting['value']:g}{'' if unit in ('', '°') else ' '}{unit}".replace("-", "−")
    return f"{setting['label']}: {said}"


def view_of(name: str, scene: sim.Scene, before: sim.Scene | None = None) -> dict[str, Any]:
    """What a file shows of one scene at every current of the slider.

    Parameters
    ----------
    name : str
        In words.
    scene : Scene
    before : Scene, optional
        What it is compared with at the same current; the same scene without current where not given.

    Returns
    -------
    dict
        ``name``, ``live`` (as `told.live_hand.live` gives it), ``why``: bars by current.
    """
    why = []
    for ma in LIVE_MA:
        at = float(ma)
        now = scene.replace(AMPLITUDE, at)
        if before is None:
            data = why_data(scene.replace(AMPLITUDE, 0.0), now, "Without current", f"At {said_ma(at)}")
        else:
            data = why_data(before.replace(AMPLITUDE, at), now, "The scene", "With the change")
        why.append({key: data[key] for key in ("rows", "title", "text", "caption")})
    return {"name": name, "live": live(scene.dumps(), {}), "why": why}


def scene_file(scene: sim.Scene, changes: Sequence[tuple[str, sim.Scene]]) -> str:
    """A scene and its pinned changes as one HTML file.

    Parameters
    ----------
    scene : Scene
    changes : sequence of (str, Scene)
        As `pinned` gives them.
    """
    views = [view_of("The scene itself", scene), *(view_of(name, changed, scene) for name, changed in changes)]
    held = {"views": [packed(view) for view in views], "current": setting_of(scene, AMPLITUDE)}
    title = escape(scene.title or "A scene")
    body = f"""
<div class="column scene"><section aria-labelledby="scene-head"><h2 id="scene-head" class="big">{title}</h2>
  <p class="lead">{escape(scene.story)}</p></section>
  <div id="app"><p class="waiting">The scene is being opened.</p>
    <noscript><p>This page needs scripts to be allowed.</p></noscript></div>
  <details><summary>The scene, to be loaded again</summary><pre>{escape(scene.dumps())}</pre></details></div>"""
    html = plain_page("explore", scene.title or "A scene", body, scripts=[address("web/carried_scene.js")],
                      css=step_sheets("web/carried_scene.css"), bare=True)
    return one_file(html, data={"carried": held})
