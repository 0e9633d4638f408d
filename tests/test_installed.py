"""The wheel in an empty environment: the command runs from there, with nothing of this folder on its path."""

from __future__ import annotations

import os
import re
import shutil
import subprocess
import sys
import sysconfig
import urllib.request
import venv
from collections.abc import Iterator
from pathlib import Path
from zipfile import ZipFile

import pytest
from numba.core.caching import _CacheLocator

from graspwave.simulator import compiling

ROOT = Path(__file__).parents[1]


@pytest.fixture(scope="module")
def wheel(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Built as an index would have it, from what is in version control and no more."""
    there = tmp_path_factory.mktemp("wheel")
    source = there / "source"
    source.mkdir()
    listed = subprocess.run(["git", "ls-files", "-z"], cwd=ROOT, capture_output=True, check=True).stdout.decode().split("\0")
    for name in filter(None, listed):
        if not name.startswith("tests/") and (ROOT / name).is_file():
            (source / name).parent.mkdir(parents=True, exist_ok=True)
            (source / name).write_bytes((ROOT / name).read_bytes())
    code = f"from setuptools.build_meta import build_wheel; print(build_wheel(r'{there}'))"
    done = subprocess.run([sys.executable, "-c", code], cwd=source, capture_output=True, text=True)
    assert done.returncode == 0, done.stderr[-2000:]
    (made,) = there.glob("*.whl")
    return made


@pytest.fixture(scope="module")
def home(wheel: Path, tmp_path_factory: pytest.TempPathFactory) -> Path:
    """An empty environment with the wheel in it; what the wheel stands on comes from the one that tests."""
    where = tmp_path_factory.mktemp("empty")
    venv.create(where / "env", with_pip=False)
    python = where / "env" / "bin" / "python"
    site = Path(subprocess.run(
        [python, "-c", "import sysconfig; print(sysconfig.get_path('purelib'))"], capture_output=True, text=True, check=True,
    ).stdout.strip())
    with ZipFile(wheel) as packed:
        packed.extractall(site)
    # last on the path, and its own .pth files are not read: the folder under test cannot be found through it
    (site / "other.pth").write_text(sysconfig.get_path("purelib") + "\n", "utf-8")
    _take_loops_along(site / "graspwave" / "simulator")
    return where


def _take_loops_along(simulator: Path) -> None:
    """Loops compiled from the same texts need not be compiled again: that they compile anywhere is tested with the hand."""
    kept = compiling.cache_folder()
    if kept is None or not compiling.is_kept():
        return
    here = Path(compiling.__file__).parent
    for name in compiling.LOOPS:
        its = (here / f"{name}.py").stat()
        os.utime(simulator / f"{name}.py", ns=(its.st_atime_ns, its.st_mtime_ns))  # numba knows a text by its time and length
    for stage in {Path(name).parent for name in compiling.LOOPS}:
        made, there = (_CacheLocator.get_suitable_cache_subpath(str(top / stage / "x.py")) for top in (here, simulator))
        if (kept / made).is_dir():
            shutil.copytree(kept / made, simulator / "__pycache__" / kept.name / there)


def graspwave(home: Path, *arguments: str) -> subprocess.CompletedProcess[str]:
    code = "import sys; from graspwave.apps.command import main; sys.exit(main())"
    return subprocess.run(
        [home / "env" / "bin" / "python", "-c", code, *arguments], cwd=home, capture_output=True, text=True,
        env={"PATH": os.environ.get("PATH", ""), "HOME": str(home), "OPENBLAS_NUM_THREADS": "1"}, timeout=300,
    )


def test_one_name_at_the_top(wheel: Path) -> None:
    with ZipFile(wheel) as packed:
        names = packed.namelist()
    assert {name.split("/")[0] for name in names if ".dist-info/" not in name} == {"graspwave"}
    for needed in ("py.typed", "simulator/facts/hand.toml", "simulator/conductor/maps.npz", "lessons/FORMAT.md",
                   "apps/files/sheet.html", "apps/files/report.css",
                   "apps/told/messages/de.toml", "apps/web/draw.js", "apps/web/step/pictures.js",
                   "apps/web/control/leading.js", "apps/web/alone/told.js", "apps/web/hand/bones.js", "apps/web/person.css",
                   "apps/look/static/style.css",
                   "apps/proof/proof.json", "apps/proof/page.html", "apps/carry/scorm/adlcp_rootv1p2.xsd",
                   "apps/installed/worker.js", "apps/look/static/icon-192.png"):
        assert f"graspwave/{needed}" in names
    assert any(name.startswith("graspwave/apps/look/static/fonts/") for name in names)


def test_it_is_the_installed_one_that_runs(home: Path) -> None:
    code = "import graspwave.simulator as s, graspwave as g; print(s.__file__, g.__version__)"
    found = subprocess.run(
        [home / "env" / "bin" / "python", "-c", code], cwd=home, capture_output=True, text=True, check=True,
    ).stdout
    assert str(home) in found
    assert re.search(r" \d+\.\d+", found)


def test_run(home: Path) -> None:
    done = graspwave(home, "run", "tight", "--out", "out", "--minutes", "0.5")
    assert done.returncode == 0, done.stderr
    assert {file.name for file in (home / "out").iterdir()} == {"run.csv", "summary.json", "report.html", "scene.toml"}


def test_sheet(home: Path) -> None:
    done = graspwave(home, "sheet", "tight", "--out", "sheet.html", "--language", "de")
    assert done.returncode == 0, done.stderr
    assert '<html lang="de"' in (home / "sheet.html").read_text("utf-8")


def test_check(home: Path) -> None:
    page = (ROOT / "lessons" / "FORMAT.md").read_text("utf-8")
    (home / "half.md").write_text(page.partition("~~~~markdown\n")[2].partition("\n~~~~\n")[0] + "\n", "utf-8")
    done = graspwave(home, "check", "half.md")
    assert done.returncode == 0, done.stderr + done.stdout
    assert "half.md: no mistake found" in done.stdout


@pytest.fixture
def address(home: Path) -> Iterator[str]:
    code = "import sys; from graspwave.apps.command import main; sys.exit(main())"
    command = [home / "env" / "bin" / "python", "-u", "-c", code, "open", "--port", "0", "--no-browser"]
    with subprocess.Popen(command, cwd=home, stdout=subprocess.PIPE, stderr=subprocess.DEVNULL, text=True,
                          env={"PATH": os.environ.get("PATH", ""), "HOME": str(home)}) as server:
        try:
            assert server.stdout
            said = next((found for line in server.stdout if (found := re.search(r"http://127[^\s/]+", line))), None)
            assert said, "the server ended before it said where it serves"
            yield said.group()
        finally:
            server.terminate()


def test_open(address: str) -> None:
    for page in ("/", "/explore", "/practise", "/explain", "/teach"):
        with urllib.request.urlopen(address + page, timeout=60) as answer:
            text = answer.read().decode()
        assert "Graspwave" in text
        assert "not for setting treatment" in text or "This is for learning." in text
    sheet = re.search(r'href="([^"]+\.css[^"]*)"', text)
    assert sheet
    with urllib.request.urlopen(address + "/" + sheet[1].lstrip("/"), timeout=60) as answer:
        assert answer.status == 200
