"""Colour tokens: one table that feeds the style sheet and the plots alike.

Colour names a quantity (current, force, angle, opening, caution); the interface itself is ink on paper.
A token ending in ``_t`` is for words (contrast 4.5 or more), one ending in ``_f`` for fills (3 or more).
The fills come from the colour-blind-safe set of Okabe and Ito, darkened for words.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any, Literal, TypeVar

__all__ = [
    "LIGHT_GLOW", "QUANTITIES", "SKIN", "TOKENS", "Theme", "check_theme", "colours", "contrast", "css", "luminance", "paint",
    "text_size",
]

Theme = Literal["light", "dark"]
_M = TypeVar("_M")

QUANTITIES = ("current", "force", "angle", "opening", "caution")

TOKENS: Mapping[str, tuple[str, str]] = {
    "bg": ("#F3F6F5", "#0F1B20"),
    "surface": ("#FFFFFF", "#16262C"),
    "sel": ("#E3EBEA", "#20343B"),
    "ink": ("#14262C", "#E9F0EF"),
    "ink2": ("#4C5D63", "#A6B6B9"),
    "edge": ("#6B7E85", "#7F969D"),
    "line": ("#C7D1D1", "#3A4D53"),
    "hair": ("#E1E7E6", "#24363C"),
    "current_t": ("#0068A8", "#6BBEF0"),
    "current_f": ("#0072B2", "#56B4E9"),
    "force_t": ("#BA4700", "#FF9A57"),
    "force_f": ("#D55E00", "#F07A2B"),
    "angle_t": ("#9A3A73", "#E3A1C8"),
    "angle_f": ("#C2659A", "#CC79A7"),
    "opening_t": ("#007352", "#3FCB9F"),
    "opening_f": ("#009E73", "#1FAE86"),
    "caution_t": ("#513B00", "#F5C84B"),
    "caution_f": ("#E69F00", "#E69F00"),
    "object": ("#B9C6CB", "#4A6069"),
    "object_edge": ("#8FA2A9", "#7A929B"),
}

# Each tone: base, shade, outline. The tone is the person's choice under Aa, so it is no token of the theme.
# On the dark page the two darker tones get a light outline: a dark one would be lost.
SKIN: Mapping[str, Mapping[Theme, tuple[str, str, str]]] = {
    "clay": {"light": ("#EBD8C9", "#B98F76", "#6A4836"), "dark": ("#D6BDAB", "#94694F", "#4A2F20")},
    "sand": {"light": ("#D9AE88", "#9C6B47", "#563620"), "dark": ("#C39670", "#7F5334", "#3F2614")},
    "umber": {"light": ("#A8714C", "#6E4327", "#39200F"), "dark": ("#98633F", "#5A341D", "#D2A27C")},
    "deep": {"light": ("#6B4630", "#41271A", "#1E110A"), "dark": ("#6B4731", "#3E2618", "#B98D6C")},
}

LIGHT_GLOW = ("umber", "deep")
"""The blue of the light theme cannot be seen on these tones, so the glow takes the lighter blue on both themes."""


def check_theme(theme: str) -> Theme:
    """Return `theme` if it is a known one.

    Raises
    ------
    ValueError
        If `theme` is neither ``"light"`` nor ``"dark"``.
    """
    if theme == "light":
        return "light"
    if theme == "dark":
        return "dark"
    raise ValueError(f"'theme' must be 'light' or 'dark' (got {theme!r}). Use one of these two words.")


def colours(theme: str = "light") -> dict[str, str]:
    """Return every token of one theme as ``{name: '#RRGGBB'}``, for plots that are drawn in Python."""
    column = 0 if check_theme(theme) == "light" else 1
    return {name: pair[column] for name, pair in TOKENS.items()}


def paint(model: _M, theme: str = "light", **tokens: str) -> _M:
    """Colour a Bokeh model by token and tag it, so that the page recolours it when the theme changes.

    Parameters
    ----------
    model
        Any Bokeh model; properties are set in place.
    theme
        ``"light"`` or ``"dark"``: the theme of the first drawing.
    **tokens
        Colour property to token name, for example ``line_color="opening_f"``. A property of a glyph that takes a
        column of a data source must not be painted.

    Returns
    -------
    model
        The same model.
    """
    table = colours(theme)
    target: Any = model
    for prop, token in tokens.items():
        if token not in table:
            raise ValueError(f"'{prop}' must be a token of the look (got {token!r}). Known: {', '.join(table)}.")
        setattr(target, prop, table[token])
    _tag(target, "paint", tokens)
    return model


def text_size(model: _M, **rem: float) -> _M:
    """Size the text of a Bokeh model in rem and tag it, so that it follows the layout and the chosen text size.

    Parameters
    ----------
    model
        Any Bokeh model; properties are set in place, for 1 rem = 15 px.
    **rem
        Text property to size, for example ``text_font_size=0.87`` (13 px on a desk; larger on the wall).

    Returns
    -------
    model
        The same model.
    """
    for prop, size in rem.items():
        if not 0.5 <= size <= 4:
            raise ValueError(f"'{prop}' must be between 0.5 and 4 rem (got {size:g}). Body text is 1.")
        setattr(model, prop, f"{15 * size:.1f}px")
    _tag(model, "rem", rem)
    return model


def _tag(model: Any, key: str, values: Mapping[str, object]) -> None:
    # A second call adds to the tag of the first.
    old: dict[str, object] = {}
    rest = []
    for tag in model.tags:
        if isinstance(tag, dict) and key in tag:
            old.update(tag[key])
        else:
            rest.append(tag)
    model.tags = [*rest, {key: {**old, **values}}]


def css() -> str:
    """Return the tokens as CSS custom properties: light on ``:root``, then dark, then the skin tones."""
    rules = []
    for theme, selector in (("light", ":root"), ("dark", ":root[data-theme=dark]")):
        body = "".join(f"--{name.replace('_', '-')}:{value};" for name, value in colours(theme).items())
        rules.append(f"{selector}{{color-scheme:{theme};--glow:var(--current-f);{body}}}")
    for tone, themes in SKIN.items():
        for theme in ("light", "dark"):
            base, shade, outline = themes[check_theme(theme)]
            select = f":root[data-theme={theme}][data-skin={tone}]"
            if tone == "clay" and theme == "light":
                select = f":root,{select}"
            glow = f"--glow:{TOKENS['current_f'][1]};" if tone in LIGHT_GLOW else ""
            rules.append(f":root[data-theme={theme}] [data-tone={tone}]{{--tone:{base};}}")
            rules.append(f"{select}{{--skin:{base};--skin-shade:{shade};--skin-line:{outline};{glow}}}")
    return "\n".join(rules)


def luminance(colour: str) -> float:
    """Return the relative luminance (0 to 1) of ``#RRGGBB`` by the definition in WCAG 2.2."""
    channels = [int(colour[i : i + 2], 16) / 255 for i in (1, 3, 5)]
    red, green, blue = (c / 12.92 if c <= 0.04045 else ((c + 0.055) / 1.055) ** 2.4 for c in channels)
    return 0.2126 * red + 0.7152 * green + 0.0722 * blue


def contrast(one: str, other: str) -> float:
    """Return the contrast ratio (1 to 21) of two colours by the definition in WCAG 2.2."""
    high, low = sorted((luminance(one), luminance(other)), reverse=True)
    return (high + 0.05) / (low + 0.05)
