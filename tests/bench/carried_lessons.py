"""Size of every carried lesson, what it is packed, pictures in it, and the processor's time to make it.

    python -m tests.bench.carried_lessons
"""

from __future__ import annotations

import gzip
import time

from graspwave import lessons
from graspwave.apps.carry.lesson import carried, lesson_file
from graspwave.apps.teach.compiled import compiled


def main() -> None:
    print("| lesson | benches | pictures | file | packed | processor |")
    print("| --- | --- | --- | --- | --- | --- |")
    sizes, times = [], []
    for slug in lessons.names():
        lesson = compiled(slug)
        began = time.process_time()
        text = lesson_file(lesson).encode()
        times.append(time.process_time() - began)
        sizes.append(len(text))
        benches = sum(bool(step["bench"]) for step in lesson["steps"])
        pictures = len(carried(lesson)["pictures"])
        packed = len(gzip.compress(text)) / 1e6
        print(f"| {slug} | {benches} | {pictures} | {len(text) / 1e6:.2f} MB | {packed:.2f} MB | {times[-1]:.1f} s |", flush=True)
    print(f"| all | | | {sum(sizes) / 1e6:.1f} MB | | {sum(times):.0f} s |")


if __name__ == "__main__":
    main()
