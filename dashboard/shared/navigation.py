"""From one page to another."""

from typing import Literal

from dash import html
from dash.development.base_component import Component

from dashboard.shared.basics import attributes

_PAGES = {"visit": ("/visit", "Visit"), "charge": ("/", "Charge")}


def navigation(here: Literal["charge", "visit"], *more: Component) -> Component:
    """Lead to the other pages. more: links beside them."""
    links = [
        html.A(title, href=path, className="button button-quiet", **attributes(data_page=page))
        for page, (path, title) in _PAGES.items()
        if page != here
    ]
    return html.Nav([*links, *more], **attributes(aria_label="Pages"))
