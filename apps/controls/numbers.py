"""Controls that set a number: a slider for one value, a row of small fields for several."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any, ClassVar

import param

from graspwave.apps.controls.base import Control, check_quantity, script

__all__ = ["NumberRow", "Slider"]


class Slider(Control):
    """A native range with its label and a large value in the colour of what it sets.

    `value` follows while the handle is dragged, at most once a frame.

    Parameters
    ----------
    label, unit
        Words beside the slider; the unit is also spoken with the value.
    value, start, end, step
        Present value and range; `value` must lie in the range.
    quantity
        ``"current"``, ``"force"``, ``"angle"``, ``"opening"``, ``"caution"`` or ``"ink"``.
    big
        Larger figures, for the current slider of the page.
    note
        A line under the slider, read with it.
    explain
        What its label means, said under it when the label is tapped.
    trouble
        Why what was set was not taken.
    """

    label = param.String(default="Value")
    unit = param.String(default="")
    value = param.Number(default=0.0)
    start = param.Number(default=0.0)
    end = param.Number(default=1.0)
    step = param.Number(default=1.0)
    quantity = param.String(default="ink")
    big = param.Boolean(default=False)
    note = param.String(default="")
    disabled = param.Boolean(default=False)
    explain = param.String(default="")
    trouble = param.String(default="")

    _esm: ClassVar[str] = script("slider")

    def __init__(self, **params: Any) -> None:
        check_quantity(params.get("quantity", "ink"))
        start, end = params.get("start", 0.0), params.get("end", 1.0)
        value, step = params.setdefault("value", start), params.get("step", 1.0)
        if not start < end:
            raise ValueError(f"'start' must be below 'end' (got {start:g} and {end:g}). Swap or widen them.")
        if not start <= value <= end:
            raise ValueError(f"'value' must be between {start:g} and {end:g} (got {value:g}). Move it into the range.")
        if not step > 0:
            raise ValueError(f"'step' must be above 0 (got {step:g}). Give the smallest change the model can use.")
        super().__init__(**params)


class NumberRow(Control):
    """A row of small number fields, each with a label and a unit.

    Parameters
    ----------
    label
        Name of the group, for those who hear the page; shown when `show_label` is set.
    fields
        One mapping a field: ``key, label, unit, start, end, step``.
    value
        Number of each field by key. A new dict is sent once a field is left or confirmed; figures outside the range
        are moved to its nearer end, and the row says so.
    trouble
        Why what was written was not taken.
    """

    label = param.String(default="")
    show_label = param.Boolean(default=False)
    fields = param.List(default=[], item_type=dict)
    value = param.Dict(default={})
    disabled = param.Boolean(default=False)
    trouble = param.String(default="")

    _esm: ClassVar[str] = script("numbers")

    def __init__(self, fields: Sequence[Mapping[str, Any]] = (), **params: Any) -> None:
        rows = [{"unit": "", "step": 1, **field} for field in fields]
        for row in rows:
            missing = {"key", "label", "start", "end"} - set(row)
            if missing:
                raise ValueError(f"'fields' must give {', '.join(sorted(missing))} (got {row!r}). Add what is missing.")
        value = {row["key"]: row["start"] for row in rows} | dict(params.pop("value", {}))
        unknown = set(value) - {row["key"] for row in rows}
        if unknown:
            raise ValueError(f"'value' must use keys of 'fields' (got {', '.join(sorted(unknown))}). Rename them.")
        super().__init__(fields=rows, value=value, **params)
