"""A page's models keep no empty defaults, and are told and changed as if they did."""

from __future__ import annotations

import json
from typing import Any

from bokeh.core.property.wrappers import PropertyValueContainer
from bokeh.document import Document
from bokeh.models import Div, Row, Slider
from bokeh.models.ranges import Range1d
from bokeh.plotting import figure

from graspwave.apps.defaults import forget_empty


def page() -> Document:
    document = Document()
    fig = figure(x_range=Range1d(0, 1))
    fig.line([0.0, 1.0], [0.0, 2.0])
    document.add_root(Row(children=[Slider(start=0, end=1, value=0, step=0.1, name="one"), Div(text="words"), fig]))
    return document


def told(document: Document) -> str:
    return json.dumps(document.to_json(), default=str, sort_keys=True)


def empties(document: Document) -> int:
    held = [value for model in document.models for value in model._unstable_default_values.values()]
    return sum(isinstance(value, PropertyValueContainer) and not value for value in held)


def test_a_page_is_told_the_same_without_its_empty_defaults() -> None:
    document = page()
    first = told(document)
    kept = empties(document)
    assert kept > 100  # twin: they are there
    assert forget_empty(document) == kept
    assert empties(document) == 0
    names = {model.id for model in document.models}
    assert told(document) == first
    assert {model.id for model in document.models} == names


def test_what_is_filled_later_is_told() -> None:
    document, seen = page(), list[Any]()
    slider = document.select_one({"name": "one"})
    held = slider.tags  # somebody holds this one
    forget_empty(document)
    assert slider.tags is held
    document.on_change(lambda event: seen.append(event.attr))
    held.append("said")
    slider.styles["color"] = "red"  # and this one is new
    assert seen == ["tags", "styles"]
    assert (slider.tags, slider.styles) == (["said"], {"color": "red"})
    forget_empty(document)
    assert (slider.tags, slider.styles) == (["said"], {"color": "red"})
