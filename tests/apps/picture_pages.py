"""Pictures for tests, and the text of a page that draws them without a server."""

from __future__ import annotations

from typing import Any

import numpy as np

from graspwave.apps.teach.pictures import picture
from graspwave.apps.web.tokens import css
from graspwave.lessons.grammar import Band, Picture
from graspwave.lessons.vocabulary import NAMES

S, T = NAMES["s"], NAMES["t"]
CURRENTS = np.linspace(0.0, 60.0, 121)
BAND = Band(100, (0.0, 30.0, 60.0), (0.0, 20.0, 0.0), (10.0, 130.0, 20.0))


def made(kind: str, title: str = "", text: str = "", **values: Any) -> dict[str, Any]:
    return picture(Picture(kind, title, text, "start", values))


def page_html(theme: str, motion: str, layout: str) -> str:
    return (
        f"<!doctype html><html lang='en' data-theme='{theme}' data-motion='{motion}' data-layout='{layout}' data-skin='clay' "
        "data-side='left'><head><title>Pictures</title><meta name='viewport' content='width=device-width'>"
        "<link rel='stylesheet' href='/web/web/range.css'><link rel='stylesheet' href='/web/web/draw.css'>"
        f"<style>{css()}"
        "body{margin:0;background:var(--bg);color:var(--ink);font:16px system-ui}main{padding:12px}</style></head>"
        "<body><main id='main'><h1>Pictures</h1></main><script type='module'>import * as draw from '/web/web/draw.js'\n"
        "window.draw = draw; window.parts = []\n"
        "window.show = (P, o) => { const host = document.createElement('section'); "
        "document.getElementById('main').append(host); parts.push(draw.drawPicture(host, P, o)); return parts.length - 1 }"
        "</script></body></html>"
    )
