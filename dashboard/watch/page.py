"""The Watch page as it is served: the frame, which watch/browser/watch.js fills from the stream."""

from dash import dcc, html
from dash.development.base_component import Component

from dashboard.roles import Visitor
from dashboard.sentences import say
from dashboard.shared.basics import attributes, choice, icon, live
from dashboard.shared.frame import framed
from dashboard.watch.wall import LONGEST_FIND


def watch_page(visitor: Visitor) -> str:
    """Write the page for a lead."""
    page = html.Div(
        [
            html.Header(
                [_title(visitor), html.Div([_find(), _units(), _theme()], className="switches")], className="top"
            ),
            html.Div(
                html.Div(className="alarm", role="alert", **attributes(data_live="alarm", aria_label="Data")),
                className="alarms",
            ),
            html.P(className="outcome", role="status", **attributes(data_live="outcome")),
            html.Main(
                [
                    html.P(say("watch.no_rig"), className="nothing", **attributes(data_live="nothing")),
                    live("cards", html.Ol, class_name="cards"),
                ]
            ),
            html.P(className="unseen", **attributes(data_live="summary", aria_live="polite")),
        ],
        id="page",
        className="page watch",
        **attributes(data_role=visitor.side),
    )
    return framed(page, name="watch", title="Watch")


def _title(visitor: Visitor) -> Component:
    who = html.Span([icon("note"), " ", say("watch.lead", name=visitor.name or "You")], className="role")
    return html.Div([html.H1(say("watch.title")), who, live("count", html.P)], className="unit")


def _find() -> Component:
    words = say("watch.find")
    field = dcc.Input(type="search", placeholder=words, maxLength=LONGEST_FIND, id="find")
    return html.Label([html.Span(words, className="unseen"), field], className="find")


def _units() -> Component:
    return choice("units", "Units", {"us": "°F psi", "si": "°C kPa"}, "us")


def _theme() -> Component:
    themes = {name: [icon(name), html.Span(name.capitalize(), className="unseen")] for name in ("light", "dark", "sun")}
    return choice("theme", "Theme", themes, "light")
