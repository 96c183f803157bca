"""From one page to another."""

from typing import Literal

from dash import html
from dash.development.base_component import Component

from dashboard.roles import WATCHES, Visitor
from dashboard.sentences import say
from dashboard.shared.basics import attributes

_PAGES = {"visit": ("visit", "Visit"), "charge": ("./", "Charge"), "unit": ("unit", "Unit")}
_FROM = {"charge": ("visit",), "visit": ("charge", "unit"), "unit": ("visit", "charge")}
"""Beside the page at hand, of whichever rig that is. What the unit was is no matter while its charge settles."""


def navigation(here: Literal["charge", "visit", "unit"], visitor: Visitor, *more: Component) -> Component:
    """Lead to the other pages: of the same rig, and a lead to all rigs. more: links beside them."""
    links = [
        html.A(_PAGES[page][1], href=_PAGES[page][0], className="button button-quiet", **attributes(data_page=page))
        for page in _FROM[here]
    ]
    if visitor.role in WATCHES:
        looks, names = "button button-quiet", attributes(data_page="watch")
        links.append(html.A(say("watch.rigs"), href="/watch", className=looks, **names))
    return html.Nav([*links, *more], **attributes(aria_label="Pages"))
