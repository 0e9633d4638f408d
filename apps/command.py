"""The command ``graspwave``: open the pages, run a scene into files, list the facts."""

from __future__ import annotations

import argparse
import sys
from collections.abc import Sequence
from pathlib import Path

import simulator as sim
from apps import notices

__all__ = ["main"]


def main(arguments: Sequence[str] | None = None) -> int:
    """Run one command; 0 when it did what was asked, 2 when the input cannot be used."""
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

    opened = commands.add_parser("open", help="serve the pages on this machine and open them")
    opened.add_argument("--port", type=int, default=5080)
    opened.add_argument("--host", default="127.0.0.1", help="address to listen on; anything else lets others in")
    opened.add_argument("--no-browser", action="store_true", help="only serve")
    opened.set_defaults(run=_open)

    ran = commands.add_parser("run", help="run a scene and write a table, a summary and a report")
    ran.add_argument("scene", help="a scene's TOML file, or one of " + ", ".join(sim.presets()))
    ran.add_argument("--out", required=True, type=Path, help="folder for the files")
    ran.add_argument("--minutes", type=float, help="instead of the scene's own length")
    ran.set_defaults(run=_run)

    sheet = commands.add_parser("sheet", help="write the page to take home of a scene, as HTML or PDF")
    sheet.add_argument("scene", help="a scene's TOML file, or one of " + ", ".join(sim.presets()))
    sheet.add_argument("--out", required=True, type=Path, help="FILE.html, or FILE.pdf through the browser on this machine")
    sheet.add_argument("--paper", choices=("a4", "letter"), default="a4")
    sheet.add_argument("--large", action="store_true", help="large print, on two pages")
    sheet.add_argument("--language", choices=("en", "de"), default="en")
    sheet.set_defaults(run=_sheet)

    listed = commands.add_parser("facts", help="list every number of the model with unit, mark and source")
    listed.add_argument("words", nargs="*", help="only names that hold all of these")
    listed.set_defaults(run=_facts)
    return parser


def _open(options: argparse.Namespace) -> int:
    from apps.serve import serve

    if not 0 <= options.port <= 65535:
        raise sim.SceneError("port", "0 to 65535", options.port)
    serve(options.host, options.port, show=not options.no_browser)
    return 0


def _run(options: argparse.Namespace) -> int:
    from apps.export import run_csv, run_json
    from apps.report import run_html

    scene = _scene(options.scene)
    if options.minutes is not None:
        scene = scene.replace("session.minutes", options.minutes)
    run = sim.simulate(scene)
    curve = sim.opening_curve(scene, [0.5 * step for step in range(121)])
    # all text is made before the folder is touched: a run that fails leaves nothing behind
    texts = {
        "run.csv": run_csv(run),
        "summary.json": run_json(scene, run, curve),
        "report.html": run_html(scene, run, curve),
        "scene.toml": f"# {notices.caution_text()}\n{scene.dumps()}",
    }
    options.out.mkdir(parents=True, exist_ok=True)
    for name, text in texts.items():
        (options.out / name).write_text(text, "utf-8")
    for name in texts:
        print(options.out / name)
    return 0


def _sheet(options: argparse.Namespace) -> int:
    from apps.explain.print import write_pdf
    from apps.explain.sheet import sheet_html

    out: Path = options.out
    if out.suffix.lower() not in (".html", ".pdf"):
        raise sim.SceneError("out", "a file that ends in .html or .pdf", str(out))
    html = sheet_html(_scene(options.scene), language=options.language, paper=options.paper, large=options.large)
    if out.suffix.lower() == ".pdf":
        write_pdf(html, out)
    else:
        out.parent.mkdir(parents=True, exist_ok=True)
        out.write_text(html, "utf-8")
    print(out)
    return 0


def _scene(name: str) -> sim.Scene:
    return sim.presets()[name] if name in sim.presets() else sim.Scene.load(name)


def _facts(options: argparse.Namespace) -> int:
    from simulator.facts import sources

    print(notices.caution_text())
    for record in sim.all_facts().values():
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
