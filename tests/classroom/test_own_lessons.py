"""An educator's own lessons: beside the program's, read anew when they are saved, with their mistakes told."""

from __future__ import annotations

import asyncio
import os
import re
from pathlib import Path

import pytest
from own_loop import in_own_loop

from graspwave import lessons
from graspwave import simulator as sim
from graspwave.apps.classroom.own_lessons import OwnLessons, lesson_files
from graspwave.apps.classroom.services import Settings, make_services
from graspwave.apps.teach import pages

FORMAT = Path(lessons.__file__).parent / "FORMAT.md"


def example() -> str:
    """The whole lesson that FORMAT.md shows."""
    found = re.search(r"~~~~markdown\n(.*?)~~~~", FORMAT.read_text("utf-8"), re.DOTALL)
    assert found
    return found[1]


def test_a_file_and_a_folder_are_listed_after_the_programs_own(tmp_path: Path) -> None:
    (tmp_path / "01-Half a pulse!.md").write_text(example(), "utf-8")
    (tmp_path / "notes.md").write_text("no lesson, only notes", "utf-8")
    alone = tmp_path / "sub"
    alone.mkdir()
    (alone / "01-half a pulse.md").write_text(example(), "utf-8")
    own = OwnLessons([str(tmp_path), str(alone / "01-half a pulse.md")])
    assert own.names()[-2:] == ("my-half-a-pulse", "my-half-a-pulse-2")
    assert own.names()[: len(lessons.names())] == lessons.names()
    rows = pages.lesson_rows(own.own(), own.read)
    assert [row["title"] for row in rows] == ["Half the pulse, half the charge"] * 2
    assert 'data-open="my-' in pages.lessons_page(rows)


def test_a_saved_change_is_read_and_a_mistake_is_told(tmp_path: Path) -> None:
    file = tmp_path / "half.md"
    file.write_text(example(), "utf-8")
    services = make_services(Settings(str(tmp_path / "rooms.db"), lessons=(str(file),)))

    async def title() -> str:
        lesson = await services.lesson(asyncio.get_running_loop(), "my-half")
        assert lesson
        assert lesson["slug"] == "my-half"
        return str(lesson["title"])

    async def work() -> None:
        assert await title() == "Half the pulse, half the charge"
        file.write_text(example().replace("half the charge\"", "half of all\""), "utf-8")
        os.utime(file, ns=(1, 1))
        assert await title() == "Half the pulse, half of all"
        file.write_text(example().replace("ratio > 0.9", "ratoi > 0.9"), "utf-8")
        with pytest.raises(lessons.LessonError, match="ratoi"):
            await title()
        file.write_text(example(), "utf-8")
        assert await title() == "Half the pulse, half the charge"

    try:
        in_own_loop(work)
    finally:
        services.stop()


def test_what_is_not_there_is_said(tmp_path: Path) -> None:
    with pytest.raises(sim.SceneError) as caught:
        lesson_files([str(tmp_path / "no.md")])
    assert str(caught.value).startswith("'lessons' must be a lesson's file or a folder of them (got '")
    assert str(caught.value).endswith("): look at the name")
