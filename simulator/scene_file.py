"""A scene into a file that a person wrote: comments, order and blank lines stay, only what differs changes.

Stage before ``scene``, which hands its records in.
"""

from __future__ import annotations

import dataclasses
import os
import tempfile
from collections.abc import MutableMapping
from pathlib import Path
from typing import Any

__all__ = ["save"]


def save(scene: Any, path: str | Path) -> None:
    """Write a scene, whole or not at all.

    Parameters
    ----------
    scene : Scene
    path : str or Path
        Where a scene is already, it is changed in place of its values alone; anything else that is there is left as it is.

    Raises
    ------
    SceneError
        The file that is there holds no scene.
    OSError
        The file cannot be written.

    Notes
    -----
    What a file leaves out is taken from the defaults, so a setting that has its default is not added to it.
    """
    path = Path(path)
    text = _merged(scene, path) if path.exists() else scene.dumps()
    with tempfile.NamedTemporaryFile("w", dir=path.parent, prefix=".", suffix=".part", encoding="utf-8", delete=False) as part:
        part.write(text)
    os.replace(part.name, path)


def _merged(scene: Any, path: Path) -> str:
    import tomlkit

    made = type(scene)
    if made.load(path) == scene:
        return path.read_text("utf-8")
    held = tomlkit.parse(path.read_text("utf-8"))
    channels = held["channel"]
    assert isinstance(channels, list)
    while len(channels) > len(scene.channel):
        del channels[len(channels) - 1]
    while len(channels) < len(scene.channel):
        channels.append(tomlkit.table())
    for table, channel in zip(channels, scene.channel, strict=True):
        _merge(table, channel, type(channel)())
    _merge(held, scene, made())
    text = tomlkit.dumps(held)
    # what cannot be told in the file's own form (it may be written oddly) is written anew, without its comments
    return text if made.loads(text) == scene else str(scene.dumps())


def _merge(held: MutableMapping[str, Any], record: Any, usual: Any) -> None:
    """Bring a table to the values of a record; what has its usual value and is not there stays away."""
    import tomlkit

    for f in dataclasses.fields(record):
        name, value, default = f.name, getattr(record, f.name), getattr(usual, f.name)
        if name == "channel":
            continue
        if dataclasses.is_dataclass(value):
            if name not in held:
                if value == default:
                    continue
                held[name] = tomlkit.table()
            _merge(held[name], value, default)
        elif value is None:
            held.pop(name, None)
        elif name not in held:
            if value != default:
                held[name] = list(value) if isinstance(value, tuple) else value
        elif _plain(held[name]) != value:
            held[name] = list(value) if isinstance(value, tuple) else value


def _plain(item: Any) -> Any:
    value = item.unwrap() if hasattr(item, "unwrap") else item
    return tuple(value) if isinstance(value, list) else value
