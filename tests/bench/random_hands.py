"""Whether a posture is found for 20 000 random hands and loads.

    python -m tests.bench.random_hands
"""

from __future__ import annotations

import time

from tests.random_hands import RESIDUAL_NM, settle


def main() -> None:
    start = time.perf_counter()
    found = settle(20_000, 1)
    took = time.perf_counter() - start
    print(f"{found.hands} hands in {took:.1f} s; {found.left} not settled; {found.outside} outside the range of motion;")
    print(f"largest residual {found.residual_nm:.1e} N m (asked: below {RESIDUAL_NM:.0e}); at most {found.iterations} steps")


if __name__ == "__main__":
    main()
