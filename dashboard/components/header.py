"""The top of the page: which unit, how long, whether the instruments are there, whether it is saved."""

from dash import html
from dash.development.base_component import Component

from dashboard.components.basics import choice, icon, live


def header() -> Component:
    """Lay out the header."""
    return html.Header(
        [
            html.Div([live("tag", html.H1), live("place", html.P)], className="unit"),
            html.Div(
                [
                    live("facts", class_name="facts"),
                    html.Span(["Visit ", live("visit", class_name="figure")], className="fact"),
                    live("instrument-count", class_name="fact status"),
                    live("saved", class_name="fact status"),
                ],
                className="facts-row",
            ),
            html.Div([_units(), _theme()], className="switches"),
        ],
        className="top",
    )


def bench_label() -> Component:
    """Say, in a place that cannot be missed, that the unit is simulated."""
    return html.Div(
        [html.Strong("Bench — simulated unit"), live("bench")],
        className="bench",
        hidden=True,
        **{"data-live": "bench-label"},
    )


def _units() -> Component:
    return choice("units", "Units", {"us": "°F psi", "si": "°C kPa"}, "us")


def _theme() -> Component:
    return choice(
        "theme",
        "Theme",
        {
            "light": [icon("light"), html.Span("Light")],
            "dark": [icon("dark"), html.Span("Dark")],
            "sun": [icon("sun"), html.Span("Sun")],
        },
        "light",
    )
