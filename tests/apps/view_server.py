"""Views on pages of their own, in one process for all tests of a run; it says where it serves.

Pages in the frame need another process: the frame leaves out of the framework what only pages without it ask for.
"""

from __future__ import annotations

import socket
from typing import Any

import panel as pn

from graspwave import simulator as sim
from graspwave.apps.controls import PlainButton
from graspwave.apps.desk.pad_map import PadMapView
from graspwave.apps.desk.state import DeskState
from graspwave.apps.explore.dose_table import DoseTableView
from graspwave.apps.explore.zooms import ZoomsView
from graspwave.apps.web.serving import WEB_PATTERN, WebFiles
from graspwave.apps.web.tokens import css


def holding(style: str, contents: str, **views: Any) -> pn.Template:
    """A page with nothing but these views."""
    text = ("{% extends base %}{% block preamble %}<style>" + css() + style + "</style>{% endblock %}{% block contents %}"
            + contents + "{% endblock %}")
    template = pn.Template(text)
    for name, view in views.items():
        template.add_panel(name, view)
    return template


def dose() -> pn.Template:
    state = DeskState(sim.presets()["supple"].replace("channel.0.pulse.amplitude_ma", 12.0))
    button = PlainButton(label="One way")
    button.on_click(lambda: state.change("channel.0.pulse.shape", "monophasic"))
    return holding("", "<main>{{ embed(roots.button) }}{{ embed(roots.here) }}</main>", button=button, here=DoseTableView(state))


def zooms() -> pn.Template:
    style = "html body { margin: 0; } #here { height: 400px; } #here > div { height: 100%; }"
    view = ZoomsView(DeskState(sim.presets()["supple"]), "light")
    return holding(style, '<div id="here">{{ embed(roots.here) }}</div>', here=view)


def pads() -> pn.Column:
    state = DeskState()
    said = pn.pane.HTML(width=500)

    def tell(*_: object) -> None:
        now = state.scene.channel[0].pads
        said.object = f"<p id='said'>{now.along_percent:.1f} {now.around_deg:.1f} {now.spacing_mm:.1f}</p>"

    tell()
    state.param.watch(tell, "scene")
    return pn.Column(PadMapView(state), said, width=600)


if __name__ == "__main__":
    with socket.socket() as free:
        free.bind(("127.0.0.1", 0))
        port = free.getsockname()[1]
    server = pn.serve(
        {"dose": dose, "zooms": zooms, "pads": pads}, port=port, address="127.0.0.1", show=False, start=False,
        extra_patterns=[(WEB_PATTERN, WebFiles)],
    )
    server.start()
    print(f"http://127.0.0.1:{port}/views", flush=True)  # noqa: T201
    server.io_loop.start()
