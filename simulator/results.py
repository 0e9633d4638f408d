"""What every result can do: print in three lines, be compared, be drawn, be a table."""

from __future__ import annotations

import dataclasses
from collections.abc import Mapping
from typing import Any, ClassVar, cast

import numpy as np

from graspwave.simulator import show

__all__ = ["Result"]


class Result:
    """Base of the records that the stages give back.

    A record is a frozen dataclass made with ``eq=False, repr=False``; it says what it is in `_said`, gives what can be drawn
    in `_drawn` and its columns in `_columns`.
    """

    __slots__ = ()
    __hash__: ClassVar[None]  # type: ignore[assignment]

    def _said(self) -> list[str]:
        """At most three lines; the first names the result."""
        raise NotImplementedError

    def _drawn(self, figure: Any, **look: Any) -> Any:
        raise NotImplementedError

    def _columns(self) -> Mapping[str, Any]:
        raise NotImplementedError

    def __repr__(self) -> str:
        return "\n  ".join(self._said())

    def _repr_html_(self) -> str:
        return show.html(self._said())

    def plot(self, figure: Any = None, **look: Any) -> Any:
        """Draw it by Bokeh, on the given figure or on a new one.

        Parameters
        ----------
        figure : bokeh figure, optional
        **look
            Handed to Bokeh, for example ``color``.

        Returns
        -------
        bokeh figure
        """
        return self._drawn(figure, **look)

    def frame(self) -> Any:
        """Its numbers as a pandas table, units in the names of the columns; pandas has to be there."""
        return show.frame(self._columns())

    def __eq__(self, other: object) -> bool:
        if type(other) is not type(self):
            return NotImplemented
        names = [f.name for f in dataclasses.fields(cast("Any", self))]
        return all(_same(getattr(self, name), getattr(other, name)) for name in names)


def _same(a: Any, b: Any) -> bool:
    """Whether two values are the same all through; not a number is the same as itself."""
    if isinstance(a, np.ndarray) or isinstance(b, np.ndarray):
        a, b = np.asarray(a), np.asarray(b)
        return a.shape == b.shape and bool(np.array_equal(a, b, equal_nan=a.dtype.kind == "f" and b.dtype.kind == "f"))
    if isinstance(a, Mapping) and isinstance(b, Mapping):
        return a.keys() == b.keys() and all(_same(value, b[key]) for key, value in a.items())
    if isinstance(a, (tuple, list)) and isinstance(b, (tuple, list)):
        return len(a) == len(b) and all(_same(x, y) for x, y in zip(a, b, strict=True))
    return bool(a == b) or (a != a and b != b)
