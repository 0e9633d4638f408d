"""The command ``graspwave``: open the pages, run a scene into files, check lessons, list the facts."""

from __future__ import annotations

import argparse
import difflib
import os
import subprocess
import sys
from collections.abc import Callable, Mapping, Sequence
from pathlib import Path
from typing import Any

from graspwave import simulator as sim
from graspwave.apps import notices
from graspwave.apps.written import may_write, write_all

__all__ = ["main"]

_MOST_ARMS = 10_000


def main(arguments: Sequence[str] | None = None) -> int:
    """Run one command; 0 when it did what was asked, 1 when a lesson has mistakes, 2 when the input cannot be used."""
    options = _parser().parse_args(arguments)
    try:
        return int(options.run(options))
    except sim.SceneError as error:
        print(f"graspwave: {error}", file=sys.stderr)
    except OSError as error:
        print(f"graspwave: '{error.filename or options.command}' must be usable (got {error.strerror})", file=sys.stderr)
    return 2


def _parser() -> argparse.ArgumentParser:
    parser = argparse.ArgumentParser(prog="graspwave", description=__doc__, epilog=notices.caution_text())
    commands = parser.add_subparsers(dest="command", required=True)
    _serving(commands)
    _scenes(commands)
    _lessons(commands)
    _listing(commands)
    return parser


def _serving(commands: Any) -> None:
    """Commands that serve rooms, or tell of what is kept of them."""
    opened = commands.add_parser("open", help="serve the pages on this machine and open them")
    opened.add_argument("lesson", nargs="*", help="own lessons to teach with: Markdown files, as lessons/FORMAT.md shows")
    opened.add_argument("--lessons", metavar="FOLDER", action="append", default=[], help="a folder of own lessons")
    opened.add_argument("--port", type=int, default=5080)
    opened.add_argument("--host", default="127.0.0.1", help="address to listen on; anything else lets others in")
    opened.add_argument("--no-browser", action="store_true", help="only serve")
    _store_option(opened)
    opened.add_argument("--processes", type=int, default=1, help="processes that serve rooms, on one further port if more than 1")
    opened.add_argument("--keep-hours", type=float, default=24.0, help="how long a room and its answers are kept")
    opened.set_defaults(run=_open)

    kept = commands.add_parser("rooms", help="list, report or delete the rooms that are kept")
    actions = kept.add_subparsers(dest="action", required=True)
    _store_option(actions.add_parser("list", help="all rooms: code, lesson, when opened, until when kept, how many joined"))
    deleted = actions.add_parser("delete", help="delete one room, or all, with every answer in it")
    deleted.add_argument("code", nargs="?", help="the room's code")
    deleted.add_argument("--all", action="store_true", help="every room")
    _store_option(deleted)
    told = actions.add_parser("report", help="write what a room answered, without names, as a page or a table")
    told.add_argument("code", help="the room's code")
    told.add_argument("--out", required=True, type=Path, help="FILE.html or FILE.csv")
    _store_option(told)
    kept.set_defaults(run=_rooms)

    beside = commands.add_parser("compare", help="set two rooms' tables of answers beside each other")
    beside.add_argument("file", nargs=2, type=Path, help="a table that was saved from a room (CSV)")
    beside.add_argument("--out", type=Path, help="FILE.html, drawn; without it the numbers are printed")
    beside.set_defaults(run=_compare)


def _scenes(commands: Any) -> None:
    """Commands that take a scene."""
    ran = commands.add_parser("run", help="run a scene and write a table, a summary and a report")
    ran.add_argument("scene", help="a scene's TOML file, or one of " + ", ".join(sim.presets()))
    ran.add_argument("--out", required=True, type=Path, help="folder for the files")
    ran.add_argument("--minutes", type=float, help="instead of the scene's own length")
    ran.add_argument("--language", choices=("en", "de"), default="en", help="of the report")
    around = "shade in the report where eight in ten of N other arms lie, and tell what they do; invented arms, not patients"
    ran.add_argument("--arms", type=int, default=0, metavar="N", help=around)
    ran.add_argument("--force", action="store_true", help="write over files that are there")
    ran.set_defaults(run=_run)

    sheet = commands.add_parser("sheet", help="write the page to take home of a scene, as HTML or PDF")
    sheet.add_argument("scene", help="a scene's TOML file, or one of " + ", ".join(sim.presets()))
    sheet.add_argument("--out", required=True, type=Path, help="FILE.html, or FILE.pdf through the browser on this machine")
    sheet.add_argument("--paper", choices=("a4", "letter"), default="a4")
    sheet.add_argument("--large", action="store_true", help="large print, on two pages")
    sheet.add_argument("--language", choices=("en", "de"), default="en")
    sheet.add_argument("--force", action="store_true", help="write over a file that is there")
    sheet.set_defaults(run=_sheet)


def _lessons(commands: Any) -> None:
    """Commands that take a lesson."""
    checked = commands.add_parser("check", help="read lessons, run what they ask of the model, and list every mistake")
    checked.add_argument("file", nargs="+", help="a lesson's Markdown file")
    drawn = "ask each question of N other arms too, drawn within the stated ranges of numbers that nobody has measured"
    checked.add_argument("--arms", type=int, default=0, metavar="N", help=f"{drawn}; each takes some seconds")
    checked.add_argument("--at-once", type=int, default=1, help="arms worked out at a time")
    checked.add_argument("--claims", type=Path, metavar="FILE.md", help="write every claim: source, mark, and count of --arms")
    around = "write where eight in ten of --arms lie about each curve of opening; without --claims no question is asked then"
    checked.add_argument("--bands", type=Path, metavar="FILE.json", help=around)
    checked.set_defaults(run=_check)

    exported = commands.add_parser("export", help="carry a lesson or a scene away as one file that needs no server")
    exported.add_argument("what", nargs="?", help="a lesson's name or Markdown file, a scene's TOML file, or one of "
                          + ", ".join(sim.presets()))
    exported.add_argument("--out", type=Path, help="FILE.html")
    exported.add_argument("--scorm", type=Path, metavar="FILE.zip", help="a lesson as a package for a player (SCORM 1.2)")
    exported.add_argument("--all", type=Path, metavar="FOLDER", help="every lesson, and a page that lists them")
    exported.add_argument("--pin", action="append", default=[], metavar="SETTING=VALUE",
                          help="a change that a scene is set beside, at most three; chosen to fit where none is given")
    exported.add_argument("--force", action="store_true", help="write over files that are there")
    exported.set_defaults(run=_export)


def _listing(commands: Any) -> None:
    """Commands that tell what the model stands on."""
    proved = commands.add_parser("proof", help="write the page of what the model was checked against, as one file")
    proved.add_argument("--out", required=True, type=Path, help="FILE.html")
    proved.add_argument("--force", action="store_true", help="write over a file that is there")
    proved.set_defaults(run=_proof)

    listed = commands.add_parser("facts", help="list every number of the model with unit, mark and source")
    listed.add_argument("words", nargs="*", help="only names that hold all of these")
    listed.add_argument("--audit", action="store_true", help="only those whose source cannot be looked up, or was recalled")
    listed.set_defaults(run=_facts)


def _store_option(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("--store", metavar="FILE|ADDRESS", help="where rooms are kept: a file, or postgresql://user@host/name")


def _open(options: argparse.Namespace) -> int:
    if not 0 <= options.port <= 65535:
        raise sim.SceneError("port", "0 to 65535", options.port)
    if not 1 <= options.processes <= 64:
        raise sim.SceneError("processes", "1 to 64", options.processes)
    if not 0.1 <= options.keep_hours <= 8760.0:
        raise sim.SceneError("keep-hours", "0.1 to 8760", options.keep_hours)
    from graspwave.apps.serve import serve

    _compiled()
    serve(options.host, options.port, show=not options.no_browser, store=options.store, processes=options.processes,
          keep_hours=options.keep_hours, lessons=(*options.lesson, *options.lessons))
    return 0


def _compiled(*, beside: bool = False) -> None:
    """Where the hand's loops are not compiled yet, compile them now and say how far it is: the first start only.

    `beside`: it is another process that needs them, to which they can only go through a folder.
    """
    from graspwave.simulator import compiling

    if not compiling.is_kept() and not (beside and compiling.cache_folder() is None):
        from graspwave.simulator.hand.prepare import prepare

        prepare()


def _rooms(options: argparse.Namespace) -> int:
    from graspwave.apps.classroom.listing import delete_rooms, list_rooms, save_report

    if options.action == "report":
        print(save_report(options.store, options.code, options.out))
        return 0
    if options.action == "list":
        for line in list_rooms(options.store):
            print(line)
        return 0
    if bool(options.code) == options.all:
        raise sim.SceneError("code", "a room's code, or --all", options.code or "nothing")
    print(delete_rooms(options.store, None if options.all else options.code))
    return 0


def _compare(options: argparse.Namespace) -> int:
    from graspwave.apps.classroom.compare import compare_html, compare_text, read_class

    one, two = (read_class(file) for file in options.file)
    if options.out is None:
        for line in compare_text(one, two):
            print(line)
        return 0
    if options.out.suffix.lower() != ".html":
        raise sim.SceneError("out", "a file that ends in .html", str(options.out))
    text = compare_html(one, two)
    options.out.parent.mkdir(parents=True, exist_ok=True)
    options.out.write_text(text, "utf-8")
    print(options.out)
    return 0


def _run(options: argparse.Namespace) -> int:
    from graspwave.apps.files.export import run_csv, run_json
    from graspwave.apps.files.report import run_html
    from graspwave.apps.told.arms import arms_of
    from graspwave.simulator.answers import CURVE_MA

    scene = _scene(options.scene)
    if not 0 <= options.arms <= _MOST_ARMS:
        raise sim.SceneError("arms", f"0 to {_MOST_ARMS}", options.arms)
    may_write([options.out / name for name in ("run.csv", "summary.json", "report.html", "scene.toml")], options.force)
    if options.minutes is not None:
        scene = scene.replace("session.minutes", options.minutes)
    _compiled()
    run = sim.simulate(scene)
    curve = sim.opening_curve(scene, CURVE_MA)
    arms = arms_of(scene, options.arms) if options.arms else None
    # all text is made before the folder is touched: a run that fails leaves nothing behind
    texts = {
        "run.csv": run_csv(run),
        "summary.json": run_json(scene, run, curve),
        "report.html": run_html(scene, run, curve, options.language, arms),
        "scene.toml": f"# {notices.caution_text()}\n{scene.dumps()}",
    }
    write_all({options.out / name: text for name, text in texts.items()})
    for name in texts:
        print(options.out / name)
    return 0


def _sheet(options: argparse.Namespace) -> int:
    from graspwave.apps.files.print import write_pdf
    from graspwave.apps.files.sheet import sheet_html

    out: Path = options.out
    if out.suffix.lower() not in (".html", ".pdf"):
        raise sim.SceneError("out", "a file that ends in .html or .pdf", str(out))
    may_write([out], options.force)
    _compiled()
    html = sheet_html(_scene(options.scene), language=options.language, paper=options.paper, large=options.large)
    if out.suffix.lower() == ".pdf":
        write_pdf(html, out)
    else:
        write_all({out: html})
    print(out)
    return 0


def _export(options: argparse.Namespace) -> int:
    from graspwave.apps.carry.export import export_all, export_one
    from graspwave.lessons import LessonError

    if (options.what is None) == (options.all is None):
        raise sim.SceneError("what", "one lesson or scene, or --all with a folder", options.what or "nothing")
    try:
        made = export_all(options.all, options.force) if options.what is None else export_one(
            options.what, options.out, options.scorm, options.pin, options.force)
        for file in made:
            print(f"{file} ({file.stat().st_size / 1e6:.1f} MB)", flush=True)
    except LessonError as why:
        print(why, file=sys.stderr)
        return 1
    return 0


def _proof(options: argparse.Namespace) -> int:
    from graspwave.apps.files.one_file import one_file
    from graspwave.apps.proof.page import proof_page

    _write_html(options.out, options.force, lambda: one_file(proof_page(alone=True)))
    return 0


def _write_html(out: Path, force: bool, make: Callable[[], str]) -> None:
    """Write one page, made only once it is known that it may be written."""
    if out.suffix.lower() != ".html":
        raise sim.SceneError("out", "a file that ends in .html", str(out))
    may_write([out], force)
    write_all({out: make()})
    print(out)


def _check(options: argparse.Namespace) -> int:
    _compiled(beside=True)
    found = worst = 0
    for file in options.file:
        # a lesson may come from a stranger: it is worked out in a process of its own, whose time and memory are bounded
        command = [sys.executable, "-m", "graspwave.lessons.beside", file]
        done = subprocess.run(command, capture_output=True, text=True, encoding="utf-8", env=_same_path(), check=False)
        lines = done.stdout.splitlines()
        if done.returncode in (0, 1, 2):
            worst = max(worst, done.returncode)
        else:
            worst = max(worst, 1)
            lines.append(f"{file}:1: 'lesson' must be worked out in the time and memory that it may take (got more). "
                         "Ask for fewer runs, or shorter ones.")
        found += len(lines)
        print("\n".join(lines) or f"{file}: no mistake found")
    if found or not options.arms:
        return worst
    for name, value, high in (("arms", options.arms, _MOST_ARMS), ("at-once", options.at_once, 64)):
        if not 1 <= value <= high:
            raise sim.SceneError(name, f"1 to {high}", value)
    if options.bands is not None:
        from graspwave.lessons.spread import written

        write_all({options.bands: written(options.file, options.arms, _told_aside, options.at_once)})
        print(options.bands)
        if options.claims is None:
            return 0
    return _arms(options.file, options.arms, options.at_once, options.claims)


def _told_aside(line: str) -> None:
    print(line, file=sys.stderr, flush=True)


def _arms(files: Sequence[str], arms: int, at_once: int, claims: Path | None) -> int:
    """In how many other arms each question keeps its answer; 1 where one keeps it in fewer than it should and does not say so."""
    from graspwave.lessons.arms import STEADY, count, says_so

    unsteady = 0
    counted = count(files, arms, _told_aside, at_once)
    if claims is not None:
        _write_claims(files, {(kept.slug, kept.step): f"{kept.kept} of {kept.of}" for kept in counted}, claims)
    for kept in counted:
        others = "".join(f", {answer} in {n}" for answer, n in sorted(kept.others.items(), key=lambda item: -item[1]))
        wrong = kept.kept < STEADY * kept.of and not says_so(kept, files)
        unsteady += wrong
        told = f"{kept.slug} {kept.step}: {kept.kept} of {kept.of} arms{others}  {kept.title}"
        print(told + ("  <- must say so" if wrong else ""))
    if unsteady:
        print(f"{unsteady} questions keep their answer in fewer than {STEADY:.0%} of the arms. Write unsteady = true in the "
              "block ask, and say in the reveal what it hangs on.")
    return 1 if unsteady else 0


def _write_claims(files: Sequence[str], arms: Mapping[tuple[str, int], str], out: Path) -> None:
    from graspwave import lessons
    from graspwave.lessons.claims import table

    found = [lessons.read(Path(file).read_text("utf-8"), file)[0] for file in files]
    write_all({out: table([lesson for lesson in found if lesson is not None], arms)})
    print(out)


def _same_path() -> dict[str, str]:
    return {**os.environ, "PYTHONPATH": os.pathsep.join(filter(None, sys.path)), "OPENBLAS_NUM_THREADS": "1",
            "PYTHONIOENCODING": "utf-8"}


def _scene(name: str) -> sim.Scene:
    return sim.presets()[name] if name in sim.presets() else sim.Scene.load(name)


def _facts(options: argparse.Namespace) -> int:
    from graspwave.simulator.facts import sources

    known = sim.all_facts()
    if not any(all(word in name for word in options.words) for name in known):
        parts = {part for name in known for part in (name, *name.split("."), *name.replace(".", "_").split("_"))}
        near = [word for given in options.words for word in difflib.get_close_matches(given, parts, 3, 0.5)]
        repair = f"nearest: {', '.join(near)}" if near else "graspwave facts lists all names"
        raise sim.SceneError("words", "parts of a fact's name", " ".join(options.words), repair)
    print(notices.caution_text())
    if options.audit:
        from graspwave.apps.audit import audit_lines

        found = audit_lines(options.words)
        print("\n".join(found))
        return 1 if len(found) > 1 else 0
    for record in known.values():
        if all(word in record.name for word in options.words):
            value = record.value if isinstance(record.value, str) else _numbers(record.value)
            source = f"  [{sources()[record.source]}]" if record.source else ""
            unit = "" if record.unit == "1" else f" {record.unit}"
            print(f"{record.name} = {value}{unit}  ({record.mark}){source}{'  ' + record.note if record.note else ''}")
    return 0


def _numbers(value: object) -> str:
    return ", ".join(f"{v:g}" for v in value) if isinstance(value, tuple) else f"{value:g}"


if __name__ == "__main__":
    sys.exit(main())
