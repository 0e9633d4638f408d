"""Markdown of a lesson -> HTML that can do no harm: no raw HTML, no picture or script from anywhere."""

from __future__ import annotations

from functools import cache

from markdown_it import MarkdownIt
from markdown_it.token import Token

__all__ = ["blocks", "html"]


@cache
def _reader() -> MarkdownIt:
    """CommonMark with tables; without HTML, pictures, bare addresses and underlined headings."""
    reader = MarkdownIt("commonmark", {"html": False}).enable("table")
    reader.disable(["html_block", "html_inline", "image", "autolink", "lheading", "reference"])
    reader.validateLink = _may_lead  # type: ignore[method-assign, assignment]
    return reader


def _may_lead(address: str) -> bool:
    """Whether a link may go there: only to a page by https; a click opens it, nothing is loaded before."""
    return address.startswith("https://")


@cache
def _block_reader() -> MarkdownIt:
    """The same, of blocks alone: what stands inside a paragraph is left as it is, which keeps a long one quick."""
    reader = _reader.__wrapped__()
    reader.core.ruler.enableOnly(["normalize", "block"])
    return reader


def blocks(text: str) -> list[Token]:
    """Tokens of the blocks of a text, each with the lines it stands on."""
    return _block_reader().parse(text)


def html(markdown: str) -> str:
    """Safe HTML of a text in Markdown.

    Whatever a stranger writes comes out as text: tags, scripts, pictures and addresses other than https are not made.
    Links open in a new tab that knows nothing of the page it came from.
    """
    reader = _reader()
    tokens = reader.parse(markdown)
    for token in tokens:
        for inner in token.children or ():
            if inner.type == "link_open":
                inner.attrSet("rel", "noopener noreferrer")
                inner.attrSet("target", "_blank")
        if token.type == "fence":
            token.info = ""
    return str(reader.renderer.render(tokens, reader.options, {}))
