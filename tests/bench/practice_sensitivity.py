"""Which sayings about practice outlive which invented number.

    OPENBLAS_NUM_THREADS=1 python tests/bench/practice_sensitivity.py

Every number is set to either end of its range, all else as it is; a line for each saying with the ends at which it fails.
"""

from __future__ import annotations

import sys
from pathlib import Path

HERE = Path(__file__).resolve()
sys.path[:0] = [str(HERE.parents[2]), str(HERE.parents[1])]

from practice_habits import INVENTED, SAYINGS, ends, with_number  # noqa: E402


def main() -> None:
    fails: dict[str, list[str]] = {saying: [] if holds() else ["as it is"] for saying, holds in SAYINGS.items()}
    for name in INVENTED:
        for end in ends(name):
            with with_number(name, end):
                for saying, holds in SAYINGS.items():
                    if not holds():
                        fails[saying].append(f"{name} = {end:g}")
        print(f"  {name} done", file=sys.stderr, flush=True)
    for saying, where in fails.items():
        print(f"{saying:55s} {'; '.join(where) or 'outlives all'}")


if __name__ == "__main__":
    main()
