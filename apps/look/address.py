"""What a page's address holds: reading it when the page is opened, and keeping the scene in it."""

from __future__ import annotations

from typing import ClassVar

import panel as pn
import param

from graspwave.apps.web.source import component

__all__ = ["Address", "asked"]


def asked(name: str) -> str:
    """One value of the address the page was opened with; empty where it is not given."""
    return pn.state.session_args.get(name, [b""])[0].decode("ascii", "ignore")


class Address(pn.custom.JSComponent):
    """Keeps the scene in the page's address, so that it can be shared, and in the links that lead on from it.

    Parameters
    ----------
    s
        The scene as text.
    more
        What else the address carries, by name; a name without text is left out of it.
    at_once
        Whether the links take the first scene too; else they wait for a change.
    """

    s = param.String(default="")
    more = param.Dict(default={})
    at_once = param.Boolean(default=False)

    _esm: ClassVar[str] = component("look/address.js")
