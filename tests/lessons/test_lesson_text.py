"""Markdown to HTML that can do no harm."""

from __future__ import annotations

from html.parser import HTMLParser

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from graspwave import lessons

TAGS = {
    "p",
    "em",
    "strong",
    "ul",
    "ol",
    "li",
    "h1",
    "h2",
    "h3",
    "h4",
    "h5",
    "h6",
    "code",
    "pre",
    "blockquote",
    "hr",
    "br",
    "a",
    "table",
    "thead",
    "tbody",
    "tr",
    "th",
    "td",
}


class _Tags(HTMLParser):
    def __init__(self, text: str) -> None:
        super().__init__()
        self.found: list[tuple[str, dict[str, str | None]]] = []
        self.feed(text)

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.found.append((tag, dict(attrs)))


@pytest.mark.parametrize(
    ("markdown", "html"),
    [
        ("*a* **b** `c`", "<p><em>a</em> <strong>b</strong> <code>c</code></p>\n"),
        ("- a\n- b", "<ul>\n<li>a</li>\n<li>b</li>\n</ul>\n"),
        (
            "| a |\n| - |\n| 1 |",
            "<table>\n<thead>\n<tr>\n<th>a</th>\n</tr>\n</thead>\n<tbody>\n<tr>\n<td>1</td>\n</tr>\n</tbody>\n</table>\n",
        ),
        ("<script>alert(1)</script>", "<p>&lt;script&gt;alert(1)&lt;/script&gt;</p>\n"),
        ("a <img src=x onerror=y>", "<p>a &lt;img src=x onerror=y&gt;</p>\n"),
        ("![a](https://a.b/c.png)", '<p>!<a href="https://a.b/c.png" rel="noopener noreferrer" target="_blank">a</a></p>\n'),
        ("[a](https://a.b)", '<p><a href="https://a.b" rel="noopener noreferrer" target="_blank">a</a></p>\n'),
        ("[a](javascript:alert(1))", "<p>[a](javascript:alert(1))</p>\n"),
        ("[a](data:text/html,x)", "<p>[a](data:text/html,x)</p>\n"),
        ("[a](//a.b)", "<p>[a](//a.b)</p>\n"),
        ("[a](http://a.b)", "<p>[a](http://a.b)</p>\n"),
        ("<https://a.b>", "<p>&lt;https://a.b&gt;</p>\n"),
        ("a\n---\nb", "<p>a</p>\n<hr />\n<p>b</p>\n"),
        ('```js" onclick="x\na\n```', "<pre><code>a\n</code></pre>\n"),
        ("5 < 6 & 7", "<p>5 &lt; 6 &amp; 7</p>\n"),
    ],
)
def test_markdown_becomes_plain_html(markdown: str, html: str) -> None:
    assert lessons.html(markdown) == html


PIECES = st.sampled_from(
    [
        "<script>",
        "</p>",
        "<img src=x onerror=alert(1)>",
        "[a](javascript:x)",
        "![a](x)",
        "`",
        "```",
        "<!--",
        "-->",
        "&#x6a;",
        "[a]: x",
        "\n",
        "\n\n",
        "<a href=x>",
        "](",
        "[",
        '"',
        "'",
        "onload=",
        "https://a.b",
        "<svg/onload=x>",
        "| a |\n| - |\n",
        "> ",
        "- ",
        "## ",
        "\\",
        "\x00",
    ]
)


@settings(max_examples=200, deadline=None)
@given(st.one_of(st.text(max_size=60), st.lists(PIECES, max_size=12).map("".join)))
def test_no_text_brings_a_tag_or_an_address_of_its_own(markdown: str) -> None:
    for tag, attributes in _Tags(lessons.html(markdown)).found:
        assert tag in TAGS
        allowed = {"a": {"href", "rel", "target", "title"}, "ol": {"start"}, "th": {"style"}, "td": {"style"}}
        assert set(attributes) <= allowed.get(tag, set())
        if tag == "a":
            assert str(attributes["href"]).startswith("https://")
            assert attributes["rel"] == "noopener noreferrer"
        assert str(attributes.get("style") or "text-align:").startswith("text-align:")
