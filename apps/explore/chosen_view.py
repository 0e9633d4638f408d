"""The lower half of the page: one of several views, each built when it is first wanted."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import panel as pn

from graspwave.apps.controls import Choice
from graspwave.apps.web.source import sheet

__all__ = ["ChosenView"]


class ChosenView(pn.viewable.Viewer):
    """A strip of names and the view that is chosen.

    Parameters
    ----------
    label : str
        Name of the strip for those who hear the page.
    views : dict of str to (str, callable)
        By key: the word on the strip, and what builds the view.
    chosen : str
        The first to show; it is built at once.
    """

    def __init__(self, label: str, views: dict[str, tuple[str, Callable[[], Any]]], chosen: str, **params: Any) -> None:
        super().__init__(**params)
        chosen = chosen if chosen in views else next(iter(views))  # an address may name any
        self._views, self._built = views, dict[str, Any]()
        self.choice = Choice({key: word for key, (word, _) in views.items()}, label=label, show_label=False, value=chosen)
        self._place = pn.Column(
            sizing_mode="stretch_both", margin=0, min_height=0, stylesheets=[sheet("explore/chosen_view.css")])
        self._box = pn.Column(
            self.choice, self._place, sizing_mode="stretch_both", margin=0, styles={"gap": "10px"},
        )
        self.choice.param.watch(lambda event: self._show(event.new), "value")
        self._show(chosen)

    def __panel__(self) -> pn.viewable.Viewable:
        return self._box

    def _show(self, key: str) -> None:
        for other, view in self._built.items():
            if other != key and hasattr(view, "active"):
                view.active = False
        if key not in self._built:
            self._built[key] = self._views[key][1]()
        view = self._built[key]
        if hasattr(view, "active"):
            view.active = True
        shown = view.__panel__() if isinstance(view, pn.viewable.Viewer) else view
        fills = shown.sizing_mode == "stretch_both"
        self._place.css_classes = [] if fills else ["gw-tall"]
        self._place[:] = [view]


