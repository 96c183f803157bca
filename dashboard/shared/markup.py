"""A layout written as plain HTML, for a page that needs nothing of Dash in the browser."""

from collections.abc import Iterator
from html import escape
from typing import Any

from dash.development.base_component import Component

_NAMED = {"className": "class", "htmlFor": "for", "tabIndex": "tabindex"}
_SWITCHES = frozenset({"hidden", "disabled", "open"})
"""Attributes that are there or not, and hold nothing."""


def markup(content: Any) -> str:
    """Write a component, a text, or a sequence of them.

    >>> from dash import html
    >>> markup(html.P(["5 < 6", html.Span(className="icon", hidden=True)], id="a"))
    '<p id="a">5 &lt; 6<span class="icon" hidden></span></p>'
    """
    if content is None:
        return ""
    if isinstance(content, Component):
        laid_out = content.to_plotly_json()  # type: ignore[no-untyped-call] # Dash has no types for it
        name = laid_out["type"].lower()
        properties = dict(laid_out["props"])
        inside = markup(properties.pop("children", None))
        return f"<{' '.join([name, *_attributes(properties)])}>{inside}</{name}>"
    if isinstance(content, list | tuple):
        return "".join(map(markup, content))
    return escape(str(content))


def _attributes(properties: dict[str, Any]) -> Iterator[str]:
    for name, value in properties.items():
        if name not in _SWITCHES:
            yield f'{_NAMED.get(name, name)}="{escape(str(value))}"'
        elif value:
            yield name
