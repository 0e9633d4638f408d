"""What a page's address holds: reading it when the page is opened, and keeping the scene in it."""

from __future__ import annotations

from typing import ClassVar

import panel as pn
import param

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
    at_once
        Whether the links take the first scene too; else they wait for a change.
    """

    s = param.String(default="")
    at_once = param.Boolean(default=False)

    _esm: ClassVar[str] = """
export function render({ model }) {
  let wait
  const write = () => {
    const url = new URL(location.href)
    url.searchParams.set('s', model.s)
    history.replaceState(null, '', url)
    for (const link of document.querySelectorAll('nav a, a[data-language]')) {
      const to = new URL(link.href)
      to.searchParams.set('s', model.s)
      link.href = to
    }
  }
  model.on('s', () => { clearTimeout(wait); wait = setTimeout(write, 250) })
  if (model.at_once && model.s) write()
  return document.createElement('span')
}
"""
