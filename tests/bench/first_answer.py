"""From the command to Explore's first answer: ``python -m tests.bench.first_answer [earlier checkout] [rounds]``.

Begins the command, asks for the page as soon as it says where it is, and stops the clock at the end of its HTML. With another
checkout that has been set up both take turns. Time on the wall and processor seconds of the server by then; medians and the
least. The hand's loops must be compiled, in both. Reported, never asserted.
"""

from __future__ import annotations

import os
import re
import subprocess
import sys
import tempfile
import time
import urllib.request
from pathlib import Path
from statistics import median

HERE = Path(__file__).parents[2]


def spent_s(pid: int) -> float:
    """Processor time of a process, of its threads too."""
    text = Path(f"/proc/{pid}/stat").read_text(encoding="ascii").rpartition(")")[2].split()
    return (int(text[11]) + int(text[12])) / os.sysconf("SC_CLK_TCK")


def first_answer(root: Path, page: str = "explore") -> tuple[float, float]:
    """Seconds on the wall, and of the processor."""
    with tempfile.TemporaryDirectory() as folder:
        began = time.perf_counter()
        server = subprocess.Popen(
            [root / ".venv/bin/graspwave", "open", "--no-browser", "--port", "0", "--store", f"{folder}/rooms.sqlite"],
            cwd=folder, stdout=subprocess.PIPE, stderr=subprocess.DEVNULL, text=True,
        )  # fmt: skip
        try:
            assert server.stdout
            said = (re.search(r"http://127\.0\.0\.1:\d+", line) for line in server.stdout)
            address = next(found.group() for found in said if found)
            urllib.request.urlopen(f"{address}/{page}", timeout=120.0).read()
            return time.perf_counter() - began, spent_s(server.pid)
        finally:
            server.terminate()
            server.wait()


def main() -> None:
    roots = [HERE, *(Path(one) for one in sys.argv[1:2] if not one.isdigit())]
    rounds = next((int(one) for one in sys.argv[1:] if one.isdigit()), 7)
    found: dict[Path, list[tuple[float, float]]] = {root: [] for root in roots}
    for root in roots:
        first_answer(root)  # files read once
    for _ in range(rounds):
        for root in roots:
            found[root].append(first_answer(root))
    for root, took in found.items():
        wall, work = zip(*took, strict=True)
        print(f"{'here' if root == HERE else root}: on the wall median {median(wall):.2f} s, least {min(wall):.2f} s; "
              f"processor median {median(work):.2f} s, least {min(work):.2f} s ({rounds} rounds)")


if __name__ == "__main__":
    main()
