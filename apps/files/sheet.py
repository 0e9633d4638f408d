"""The page to take home: one sheet of paper, two in large print, as HTML that needs nothing else.

The current and the minutes are blanks: a scene's own are not a setting for anyone, so they never reach the paper. Nor do a
scene's title and story, which might name a person.
"""

from __future__ import annotations

import base64
import datetime
import json
from collections.abc import Iterable
from html import escape
from pathlib import Path
from typing import Any

from graspwave import simulator as sim
from graspwave.apps import notices
from graspwave.apps.look.frame import static_dirs
from graspwave.apps.told.account import Told, told
from graspwave.apps.told.five_pictures import drawing_source, picture_data
from graspwave.apps.told.words import catalogue, date_words, label, notice_lines, picture_words, say, sheet_steps

__all__ = ["PAPERS", "sheet_html", "sheet_text"]

PAPERS = {"a4": ("A4", 210.0, 297.0), "letter": ("Letter", 215.9, 279.4)}
"""Name for the printer, width and height in mm."""

_MARGIN_MM = 11.0
_FONT = "fonts/atkinson-hyperlegible-next-latin-wght-normal.woff2"


def sheet_text(scene: sim.Scene, language: str = "en") -> dict[str, tuple[str, ...]]:
    """Every sentence of the sheet, by part; what is graded and what is printed are the same."""
    said = told(scene)
    pictures = {p.key: p.lines for p in picture_words(said, language)}
    plain = notices.PLAIN[language]
    return {
        "notice": notice_lines(said, language),
        "pads": pictures["pads"],
        "when": pictures["when"],
        "steps": sheet_steps(said, language),
        "normal": _say(language, "sheet_tingle", "sheet_pink", "sheet_tired", "feel_hurt"),
        "stop": _say(language, "sheet_stop_hurt", "sheet_stop_skin", "sheet_stop_dizzy"),
        "then": _say(language, "sheet_off", "sheet_call"),
        "log": _say(language, "sheet_tick", "sheet_scale"),
        "safe": plain.short,
        "caution": (plain.first, plain.rest),
    }


def _say(language: str, *keys: str) -> tuple[str, ...]:
    return tuple(say(language, key) for key in keys)


def sheet_html(
    scene: sim.Scene, *, language: str = "en", paper: str = "a4", large: bool = False, today: datetime.date | None = None,
) -> str:
    """The sheet as one HTML file that asks for nothing from outside.

    Parameters
    ----------
    scene : Scene
    language : str
        One of `words.LANGUAGES`.
    paper : str
        ``a4`` or ``letter``.
    large : bool
        Large print, on two pages.
    today : date, optional
        Date on the sheet; today's where not given.

    Raises
    ------
    ValueError
        An unknown language or paper.
    """
    if paper not in PAPERS:
        raise ValueError(f"'paper' must be one of {', '.join(PAPERS)} (got {paper!r}). Choose one of them.")
    said, text = told(scene), sheet_text(scene, language)
    parts = _parts(said, text, language)
    pages = (("head", "notice", "pictures", "steps"), ("fill", "feel", "week", "safe")) if large else (
        ("head", "notice", "pictures", "body", "fill", "week", "safe"),)
    sheets = "".join(
        f'<section class="page">{"".join(parts[key] for key in keys)}'
        f"{_foot(text, language, today or datetime.date.today(), i + 1, len(pages))}</section>"
        for i, keys in enumerate(pages)
    )
    drawing = json.dumps(picture_data(scene, language, movement=False)).replace("</", "<\\/")
    name, width, height = PAPERS[paper]
    size = f"--w:{width - 2 * _MARGIN_MM:.1f}mm;--h:{height - 2 * _MARGIN_MM - 1.5:.1f}mm"
    return f"""<!doctype html>
<html lang="{language}" data-print="{'large' if large else 'normal'}"><head><meta charset="utf-8">
<meta name="viewport" content="width=device-width, initial-scale=1">
<title>{escape(label(language, "sheet_title"))} - Graspwave</title>
<style>{_font()}@page{{size:{name};margin:{_MARGIN_MM:g}mm}}:root{{{size}}}{_STYLE}</style>
</head><body><main>{sheets}</main>
<script type="module">
{drawing_source().replace('export function', 'function')}
const data = {drawing}
for (const host of document.querySelectorAll('[data-picture]'))
  drawPicture(host, host.dataset.picture, data, {{ label: host.dataset.seen, side: 'left', skin: 'clay', words: 1.5 }})
// A long notice or a longer language: smaller pictures first, then smaller words, until the page holds all.
const fit = () => {{
  document.querySelector('main').style.zoom = 1
  for (const page of document.querySelectorAll('.page')) {{
    let f = 1, p = 1
    const set = () => {{ page.style.setProperty('--f', f.toFixed(2)); page.style.setProperty('--p', p.toFixed(2)) }}
    for (set(); page.scrollHeight > page.clientHeight + 3 && f > 0.7; set()) p > 0.66 ? p -= 0.06 : f -= 0.02
    page.dataset.fitted = f.toFixed(2)
  }}
  const paper = document.querySelector('.page').offsetWidth + 4
  document.querySelector('main').style.zoom = Math.min(1, document.documentElement.clientWidth / paper)
}}
fit()
addEventListener('resize', fit)
await document.fonts.load('450 16px "Atkinson Hyperlegible Next"').catch(() => 0)
fit()
document.documentElement.dataset.drawn = ''
</script>
</body></html>
"""


def _parts(said: Told, text: dict[str, tuple[str, ...]], language: str) -> dict[str, str]:
    """The sheet's parts as HTML."""
    def title(key: str, level: int = 2) -> str:
        return f"<h{level}>{escape(label(language, key))}</h{level}>"

    seen = {p.key: p for p in picture_words(said, language)}

    def picture(key: str) -> str:
        p = seen[key]
        return (f'<figure><h2>{escape(p.title)}</h2><div class="picture" data-picture="{key}" data-seen="{escape(p.seen)}"></div>'
                f"<figcaption>{_lines(text[key])}</figcaption></figure>")

    steps = f"<section>{title('step_by_step')}<ol>{''.join(f'<li>{escape(s)}</li>' for s in text['steps'])}</ol></section>"
    feel = (
        f"<div class=\"feel\"><section>{title('normal_feel')}<p>{_lines(text['normal'])}</p></section>"
        f"<section class=\"stop\"><i class=\"stripes\"></i>{title('stop')}"
        f"<ul>{''.join(f'<li>{escape(s)}</li>' for s in text['stop'])}</ul><p>{_lines(text['then'])}</p></section></div>"
    )
    lead, *found = text["notice"] or ("",)
    notice = (
        f"<section class=\"notice\"><i class=\"stripes\"></i><div>{title('notice')}"
        f"<p><strong>{escape(lead)}</strong> {_lines(found)}</p></div></section>" if text["notice"] else ""
    )
    return {
        "head": f'<header><h1>{escape(label(language, "sheet_title"))}</h1><p>{_blank(label(language, "clinic"))}'
                f'{_blank(label(language, "phone"))}</p></header>',
        "notice": notice,
        "pictures": f'<div class="pictures">{picture("pads")}{picture("when")}</div>',
        "steps": steps,
        "feel": feel,
        "body": f'<div class="body">{steps}{feel}</div>',
        "fill": f"<section class=\"fill\">{title('fill')}<p>"
                f"{''.join(_blank(label(language, key)) for key in ('current', 'minutes', 'times', 'tries'))}</p></section>",
        "week": _week(said, text, language),
        "safe": f"<section class=\"safe\">{title('safe')}<p>{_lines(text['safe'])}</p></section>",
    }


def _week(said: Told, text: dict[str, tuple[str, ...]], language: str) -> str:
    words = catalogue(language)
    days = "".join(f'<th scope="col">{day}</th>' for day in words["meta"]["days"])
    cells = "<td></td>" * 7
    rows = "".join(
        f'<tr><th scope="row">{escape(name)}</th>{cells}</tr>'
        for name in (label(language, "minutes"), str(words["objects"][said.object]), label(language, "felt"))
    )
    return (f'<section class="week"><h2>{escape(label(language, "week"))}</h2><table><thead><tr><td></td>{days}</tr></thead>'
            f"<tbody>{rows}</tbody></table><p>{_lines(text['log'])}</p></section>")


def _foot(text: dict[str, tuple[str, ...]], language: str, today: datetime.date, page: int, pages: int) -> str:
    first, rest = text["caution"]
    said = label(language, "printed", date=date_words(language, today))
    if pages > 1:
        said += f" · {label(language, 'page', n=str(page), total=str(pages))}"
    return (f'<footer><i class="stripes"></i><p><strong>{escape(first)}</strong> {escape(rest)}</p>'
            f"<small>{escape(said)}</small></footer>")


def _lines(lines: Iterable[str]) -> str:
    return " ".join(f"<span>{escape(line)}</span>" for line in lines)


def _blank(name: str) -> str:
    return f'<span class="blank"><b>{escape(name)}</b><i></i></span>'


def _font() -> str:
    (folder,) = static_dirs().values()
    data: Any = base64.b64encode((Path(folder) / _FONT).read_bytes()).decode()
    return (f'@font-face{{font-family:"Atkinson Hyperlegible Next";font-weight:200 800;'
            f'src:url(data:font/woff2;base64,{data}) format("woff2")}}')


_STYLE = """
*{box-sizing:border-box} body{margin:0;background:#fff;color:#14262C;
 font:450 10.4pt/1.3 "Atkinson Hyperlegible Next",system-ui,sans-serif;-webkit-print-color-adjust:exact;
 print-color-adjust:exact}
:root{--font:"Atkinson Hyperlegible Next",system-ui,sans-serif}
h1,h2,p,ul,ol,figure{margin:0;padding:0} h1{font-size:2em;line-height:1.1} h2{font-size:1.2em;line-height:1.2;margin-bottom:1mm}
.page{padding-bottom:.8mm;font-size:calc(10.6pt*var(--f,1));width:var(--w);height:var(--h);display:flex;flex-direction:column;
 gap:2.5mm;break-after:page;margin:0 auto}
.page:last-child{break-after:auto}
header{display:flex;justify-content:space-between;align-items:end;gap:8mm} header p{flex:0 1 105mm;display:flex;gap:6mm}
.blank{display:flex;align-items:end;gap:2mm;flex:1} .blank b{font-weight:600;white-space:nowrap}
.blank i{flex:1;min-width:12mm;height:7mm;border-bottom:.35mm solid #14262C}
.pictures{display:grid;grid-template-columns:1fr 1fr;gap:5mm}
figure{border:.35mm solid #6B7E85;border-radius:2mm;padding:2.4mm 3mm;display:flex;flex-direction:column}
.picture{height:calc(38mm*var(--p,1));margin-bottom:1mm}
.body{display:grid;grid-template-columns:1.35fr 1fr;gap:6mm}
ol{list-style:none;counter-reset:n} ol li{counter-increment:n;display:grid;grid-template-columns:6.5mm 1fr;
 padding:.9mm 0;border-top:.2mm solid #C7D1D1} ol li::before{content:counter(n);font-weight:750;font-size:1.12em}
.feel{display:flex;flex-direction:column;gap:3mm} ul{padding-left:4.5mm}
.stop{border:.8mm solid #14262C;border-radius:2mm;padding:2.4mm 3mm}
.stop .stripes{display:block;width:100%;height:2.4mm;margin-bottom:1.6mm}
.stripes{flex:none;width:11mm;height:3mm;border-radius:.8mm;
 background:repeating-linear-gradient(135deg,#E69F00 0 1.6mm,#14262C 1.6mm 3.2mm)}
.notice{display:flex;gap:3mm;border:.8mm solid #14262C;border-radius:2mm;padding:2mm 3mm}
.notice .stripes{width:3.4mm;height:auto}
.notice div{flex:1} .notice h2{margin-bottom:.4mm}
.fill{border:.35mm solid #14262C;border-radius:2mm;padding:1.8mm 3mm} .fill h2{font-size:1em} .fill p{display:flex;gap:5mm}
.week{flex:1 0 auto;display:flex;flex-direction:column}
table{flex:1;width:100%;border-collapse:collapse;table-layout:fixed}
th,td{border:.25mm solid #14262C;font-size:.95em;padding:.6mm 1mm} thead td{border:0}
tbody th{text-align:left;border:0;font-weight:450}
thead td,tbody th{width:31mm} thead th{height:6mm} tbody td{height:6.2mm} .week p{margin-top:1mm;font-size:.92em}
.safe{font-size:.92em}
footer{display:flex;align-items:center;gap:3mm;border-top:.4mm solid #14262C;padding-top:1.6mm;margin-top:auto}
footer p{flex:1} footer small{color:#4C5D63;font-size:.84em;text-align:right}
[data-print=large] .page{padding-bottom:.8mm;font-size:calc(16pt*var(--f,1));line-height:1.24;gap:3.4mm}
[data-print=large] h1{font-size:1.7em}
[data-print=large] .picture{height:calc(40mm*var(--p,1))}
[data-print=large] header{flex-wrap:wrap} [data-print=large] header p{flex-basis:100%}
[data-print=large] .fill p{display:grid;grid-template-columns:1fr 1fr;gap:2mm 6mm} [data-print=large] .fill h2{font-size:1em}
[data-print=large] .feel{display:grid;grid-template-columns:1fr 1fr;gap:5mm}
[data-print=large] thead td,[data-print=large] tbody th{width:40mm}
[data-print=large] .safe,[data-print=large] .week p{font-size:.9em} [data-print=large] footer{font-size:.84em}
[data-print=large] ol li{grid-template-columns:9mm 1fr;padding:.8mm 0}
@media screen{body{background:#DDE4E3} .page{box-sizing:content-box;background:#fff;border:9mm solid #fff;margin-bottom:5mm}}
@media print{main{zoom:1!important}}
"""
