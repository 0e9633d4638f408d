"""The compiled loops and the same functions as plain Python are one; and where the compiled ones are kept."""

from __future__ import annotations

import os
import re
import stat
import subprocess
import sys
from pathlib import Path

import numpy as np
import pytest

PROGRAM = """
import sys, pathlib
sys.path.insert(0, {tests!r})
import numpy as np
from hand_potential import potential, sample
from graspwave.simulator.hand import equilibrium, motion, opening, scene_hand, widest_mm
from graspwave.simulator.hand.layout import constants_of
from graspwave.simulator.muscle import muscle_force
from graspwave.simulator.scene import Hand
hands = {hands}
found = dict(zip("ugh", potential(constants_of(scene_hand(), 0.95, 180.0, 1.0, 0.5, True), *sample(hands))))
drive = {{"EDC": np.linspace(0.0, 0.4, 4), "EDC_INDEX": np.linspace(0.0, 0.1, 4), "FDS": [0.0, 0.0, 0.02, 0.05]}}
hand = Hand(flexor_length_factor=0.97, finger_tone=0.005, wrist_tone=0.02, reflex_gain=0.5)
posture = equilibrium(hand, drive, model=scene_hand())
found["q"] = np.array([posture.angle_deg[a] for a in posture.angle_deg])
found["mm"] = np.concatenate([posture.opening_mm, posture.gap_mm["index"], widest_mm(hand, posture.angle_deg, "ball")])
found["moved"] = motion(hand, {{"EDC": np.linspace(0.0, 0.3, 8)[:, None]}}, 0.05, model=scene_hand())
force = muscle_force(np.arange(0.0, 6.0, 0.03), 0.8)
found["force"], found["tired"] = force.force_n, force.tired
np.savez({out!r}, **found)
"""
HANDS = 500


def worked(out: Path, hands: int, **environment: str) -> dict[str, np.ndarray]:
    program = PROGRAM.format(tests=str(Path(__file__).parent), hands=hands, out=str(out))
    subprocess.run([sys.executable, "-c", program], check=True, env={**os.environ, **environment}, timeout=300)
    with np.load(out) as data:
        return dict(data)


def same(one: dict[str, np.ndarray], two: dict[str, np.ndarray], within: float) -> bool:
    return all(np.abs(one[key] - two[key]).max() <= within * np.abs(one[key]).max() for key in one)


def test_compiled_and_plain_are_one(tmp_path: Path) -> None:
    fast, slow = worked(tmp_path / "a.npz", HANDS), worked(tmp_path / "b.npz", HANDS, NUMBA_DISABLE_JIT="1")
    assert same(fast, slow, 1e-12)
    assert not same(fast, {key: value * (1.0 + 1e-11) for key, value in slow.items()}, 1e-12)  # twin


GIVEN_BACK = """
import functools
import numpy as np
from graspwave.simulator import compiling
seen = {}
def holds(value):
    return isinstance(value, np.ndarray) or (isinstance(value, tuple) and any(map(holds, value)))
def watched(how):
    def decorate(function):
        @functools.wraps(function)
        def call(*given):
            found = function(*given)
            key = function.__name__, how
            seen[key] = seen.get(key, False) or holds(found)
            return found
        return call
    return decorate
compiling.compiled, compiling.uncounted, compiling.inlined = map(watched, ("counted", "uncounted", "uncounted"))
from graspwave import simulator as sim
from graspwave.simulator.hand.prepare import prepare
prepare()
sim.explain_opening(*(sim.presets()["tight"].replace("hand.flexor_length_factor", factor) for factor in (0.97, 0.98)))
print(*(" ".join((*key, str(value))) for key, value in seen.items()), sep="\\n")
"""


def test_no_array_is_given_back_uncounted() -> None:
    """A function that does not count who holds an array would give it back as nobody's, and it would be freed while in use."""
    done = subprocess.run(
        [sys.executable, "-c", GIVEN_BACK], capture_output=True, text=True, check=True, timeout=120,
        env={**os.environ, "NUMBA_DISABLE_JIT": "1"},
    )  # fmt: skip
    said = {tuple(line.split()) for line in done.stdout.splitlines()}
    assert not [name for name, how, arrays in said if (how, arrays) == ("uncounted", "True")]
    assert ("energy", "uncounted", "False") in said
    assert ("_one_of", "counted", "True") in said  # twin: the arrays of one hand of several


READS = """
from graspwave.simulator import compiling
print(compiling.cache_folder())
"""


def test_a_changed_text_has_another_folder(tmp_path: Path) -> None:
    from graspwave.simulator import compiling

    text = compiling.cache_folder()
    assert text is not None
    assert compiling._digest() in text.name
    others = {name: Path(compiling.__file__).parent / f"{name}.py" for name in compiling.LOOPS}
    assert all(path.exists() for path in others.values())
    root = Path(compiling.__file__).parent
    texts = {p.relative_to(root).with_suffix("").as_posix(): p.read_text("utf-8") for p in root.rglob("*.py")}
    decorated = {name for name, text in texts.items() if re.search(r"^@(compiled|inlined)$", text, re.MULTILINE)}
    assert {"hand/walk", "muscle/path"} <= decorated <= set(compiling.LOOPS)


@pytest.mark.skipif(os.name != "posix", reason="folders that cannot be written to are made by mode bits")
def test_a_folder_that_cannot_be_written_to_still_works(tmp_path: Path) -> None:
    """As a file stands where the folder would be, no user can write there, the administrator included."""
    blocked = tmp_path / "blocked"
    blocked.write_text("")
    blocked.chmod(stat.S_IRUSR)
    program = (
        "from graspwave.simulator import compiling\n"
        f"compiling.places = lambda: [__import__('pathlib').Path({str(blocked)!r})]\n"
        "from graspwave.simulator.hand.ray import exponential\n"
        "print(compiling.cache_folder(), exponential(0.0, 5.5)[1])\n"
    )
    done = subprocess.run([sys.executable, "-c", program], capture_output=True, text=True, check=True, timeout=120)
    assert done.stdout.split() == ["None", "1.0"]
    assert "memory" in done.stderr


def test_nothing_is_compiled_before_a_hand_is_computed() -> None:
    code = "import sys; from graspwave import simulator as sim; sim.presets(); print('numba' in sys.modules)"
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert done.stdout.strip() == "False"


def test_the_help_of_check_loads_no_compiler() -> None:
    """The command's help answers in a moment: numba comes with the first hand."""
    code = (
        "import sys\nfrom graspwave.apps.command import main\n"
        "try:\n    main(['check', '--help'])\nexcept SystemExit:\n    print('numba' in sys.modules)\n"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert done.stdout.splitlines()[-1] == "False"


@pytest.mark.parametrize("kept", [True, False])
def test_a_first_start_tells_how_far_it_is(
    kept: bool, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    """Without compiled loops the command compiles them before it serves, step by step; with them it says nothing."""
    from graspwave.apps import command, serve
    from graspwave.simulator import compiling
    from graspwave.simulator.hand import prepare

    done: list[str] = []
    monkeypatch.setattr(compiling, "is_kept", lambda: kept)
    monkeypatch.setattr(compiling, "forget_older", lambda: done.append("forgot"))
    monkeypatch.setattr(prepare, "_steps", lambda: iter([(1, 2, "postures"), (2, 2, "motion")]))
    monkeypatch.setattr(serve, "serve", lambda *given, **named: done.append("served"))
    assert command.main(["open", "--port", "0", "--no-browser"]) == 0
    said = capsys.readouterr().err
    assert done == (["served"] if kept else ["forgot", "served"])
    assert ("1 of 2: postures" in said, "2 of 2: motion" in said) == (not kept, not kept)
