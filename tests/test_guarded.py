"""Text from strangers: what would cost a parser seconds is refused, for scene, address and lesson alike."""

from __future__ import annotations

import base64
import os
import time
import tomllib
import zlib
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from graspwave import lessons
from graspwave import simulator as sim
from graspwave.apps.told.scenes import scene_from_address, scene_to_address
from graspwave.simulator.guarded import ADDRESS_BYTES, SCENE_BYTES, Refused, parsed_toml, read_text

GOOD = sim.presets()["tight"].dumps()
DEEP = {
    "dotted key": ".".join("a" * 5) + " = 1",
    "dotted header": "[" + ".".join("a" * 9000) + "]",
    "quoted parts": "\"a\".\"b\".'c'. d .e = 1",
    "many deep lines": "\n".join(f"k{i}." + ".".join("a" * 40) + " = 1" for i in range(200)),
    "lists": "a = " + "[" * 5 + "]" * 5,
    "many lists": "a = " + "[" * 20_000,
    "tables": "a = " + "{b = " * 5 + "1" + "}" * 5,
    "long number": "a = " + "9" * 400,
    "long fraction": "a = 0." + "3" * 40,
}
CHEAP_S = 2.0
"""Processor seconds that none of this may take; before the guard the worst took 73."""


def packed(text: str) -> str:
    return base64.urlsafe_b64encode(zlib.compress(text.encode(), 9)).decode().rstrip("=")


@pytest.mark.parametrize("text", DEEP.values(), ids=DEEP)
def test_what_is_deep_or_long_is_refused_at_once(text: str) -> None:
    begun = time.process_time()
    with pytest.raises(Refused):
        parsed_toml(text)
    with pytest.raises(sim.SceneError):
        sim.Scene.loads(text)
    assert scene_from_address(packed(text)) is None
    assert lessons.check(f"+++\n{text}\n+++\n## One\nText.\n", "x.md")
    assert lessons.check(f'+++\ntitle = "x"\n+++\n## One\n```scene\n{text}\n```\n', "x.md")
    assert time.process_time() - begun < CHEAP_S


def test_the_address_of_a_hundred_signs_that_stood_for_a_minute() -> None:
    text = ".".join("a" * 32_000) + " = 1"
    assert len(packed(text)) < 160
    begun = time.process_time()
    assert scene_from_address(packed(text)) is None
    assert time.process_time() - begun < CHEAP_S


def test_an_address_unpacks_to_no_more_than_it_may() -> None:
    left = ADDRESS_BYTES - len(GOOD.encode())
    assert scene_from_address(packed(GOOD + "#" * left)) is not None
    assert scene_from_address(packed(GOOD + "#" * (left + 1))) is None


@pytest.mark.parametrize("text", [
    'x = """' + '\\"""' * 15_000, "x = '''" + "''" * 20_000, 'x = "' * 10_000, "'" * 60_000,
], ids=["escaped ends", "half ends", "open texts", "quotes"])
def test_texts_that_nothing_closes_cost_no_more(text: str) -> None:
    begun = time.process_time()
    with pytest.raises(Refused):
        parsed_toml(text)
    assert time.process_time() - begun < CHEAP_S


def test_a_long_text_is_not_even_looked_over() -> None:
    with pytest.raises(Refused, match="at most 64 kB"):
        parsed_toml("#" * (SCENE_BYTES + 1))


@pytest.mark.parametrize("key", list(sim.presets()))
def test_every_preset_passes(key: str) -> None:
    scene = sim.presets()[key]
    assert sim.Scene.loads(scene.dumps()) == scene
    assert scene_from_address(scene_to_address(scene)) == scene


def test_brackets_and_points_inside_texts_and_notes_do_not_count() -> None:
    text = "a = \"[[[[[[ a.b.c.d.e.f\"  # [[[[[[ a.b.c.d.e.f\nb = '{{{{{{'\nc = \"\"\"\n[[[[[[\n\"\"\"\n"
    assert parsed_toml(text) == tomllib.loads(text)


@settings(max_examples=150, deadline=None)
@given(st.text(alphabet="ab.[]{}='\"#\\\n ,1-+e_\u00e9", max_size=200))
def test_what_is_taken_is_what_the_parser_makes_of_it(text: str) -> None:
    try:
        found = parsed_toml(text)
    except Refused as no:
        found, line = None, no.line
    if found is None:
        assert 1 <= line <= text.count("\n") + 1
    else:
        assert found == tomllib.loads(text)


def test_only_regular_files_are_read(tmp_path: Path) -> None:
    os.mkfifo(tmp_path / "pipe.toml")
    for path in (tmp_path, tmp_path / "pipe.toml", Path("/dev/zero")):
        with pytest.raises(Refused):
            read_text(path)
        with pytest.raises(sim.SceneError):
            sim.Scene.load(path)
        assert "a file" in str(lessons.check_file(path)[0])


def test_a_mark_of_byte_order_other_bytes_and_a_long_file(tmp_path: Path) -> None:
    path = tmp_path / "scene.toml"
    path.write_bytes(b"\xef\xbb\xbf" + GOOD.encode())
    assert sim.Scene.load(path) == sim.presets()["tight"]
    path.write_bytes(b"title = 1\n\xff\xfe")
    with pytest.raises(sim.SceneError, match="UTF-8"):
        sim.Scene.load(path)
    path.write_bytes(b"#" * (SCENE_BYTES + 1))
    with pytest.raises(sim.SceneError, match="64 kB"):
        sim.Scene.load(path)


def test_a_number_too_small_to_mean_anything_is_nothing() -> None:
    scene = sim.presets()["tight"].replace("channel.0.ramp.up_s", 5e-324)
    assert scene.channel[0].ramp.up_s == 0.0
