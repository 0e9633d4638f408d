"""Templates of the files: whatever is put into one is escaped, unless it is marked as HTML of our own."""

from __future__ import annotations

from functools import cache

from jinja2 import Environment, PackageLoader, StrictUndefined, select_autoescape

__all__ = ["render"]


@cache
def _environment() -> Environment:
    return Environment(
        loader=PackageLoader("graspwave.apps.files", "."), autoescape=select_autoescape(("html",), default=False),
        undefined=StrictUndefined, trim_blocks=False,
    )


def render(name: str, **values: object) -> str:
    """A file from its template beside this module; a value that a template wants and is not given is an error.

    Parameters
    ----------
    name : str
        For example ``report.html``.
    """
    return _environment().get_template(name).render(**values)
