"""The Unit page as it is served: the frame, which unit/browser/unit.js fills from the stream."""

from dash import html
from dash.development.base_component import Component

from dashboard.roles import Visitor
from dashboard.sentences import say
from dashboard.shared.basics import attributes, choice, live
from dashboard.shared.frame import framed
from dashboard.shared.navigation import navigation
from dashboard.shared.screen_and_sound import screen_and_sound_dialog, screen_and_sound_opener
from dashboard.shared.stop import standing_bar, stop_of_a_lead
from ingest.wire.asks import MAY_ASK


def unit_page(visitor: Visitor) -> str:
    """Write the page for a visitor. Nothing is recorded here but what is answered to a lead's stop."""
    may = " ".join(kind for kind in MAY_ASK if visitor.may(kind))
    page = html.Div(
        [
            html.Header(
                [
                    html.Div(
                        [
                            live("tag", html.H1),
                            html.Span(
                                say("visit.simulated"), className="bench", hidden=True, **attributes(data_live="bench")
                            ),
                            live("place", html.P),
                        ],
                        className="unit",
                    ),
                    html.Div([live("who"), live("saved", class_name="fact status")], className="facts-block"),
                    navigation("unit", visitor),
                ],
                className="top",
            ),
            html.Div([_data_alarm(), _stops(), standing_bar(visitor)], className="alarms"),
            html.Main([_left(), _right()], className="unit-grid"),
            stop_of_a_lead(),
            screen_and_sound_dialog(),
        ],
        id="page",
        className="page visit unit-page",
        **attributes(data_role=visitor.side, data_may=may, data_name=visitor.name),
    )
    return framed(page, name="unit", title="Unit")


def _data_alarm() -> Component:
    return html.Div(className="alarm", role="alert", **attributes(data_live="alarm", aria_label="Data"))


def _stops() -> Component:
    return html.Div(className="stops", role="alert", **attributes(data_live="stops", aria_label="Stop"))


def _left() -> Component:
    return html.Div(
        [
            _panel(say("unit.must_know"), "must-know"),
            html.P(say("unit.nothing_before"), className="panel", hidden=True, **attributes(data_live="first")),
            html.Section(
                [
                    html.H2(say("unit.trends"), className="panel-title"),
                    html.P(say("unit.between"), className="aside", **attributes(data_live="between")),
                    html.P(say("unit.no_trends"), hidden=True, **attributes(data_live="no-trends")),
                    live("trends", html.Div, class_name="trends"),
                ],
                className="panel",
            ),
            _panel(say("unit.parts_read"), "parts"),
        ],
        className="column",
    )


def _right() -> Component:
    return html.Div(
        [
            html.Section(
                [
                    html.H2(say("unit.title"), className="panel-title"),
                    live("sheet", html.Dl, class_name="sheet"),
                    live("photographs", html.Div, class_name="photographs"),
                    html.A(say("unit.correct"), href="visit", className="button button-quiet"),
                ],
                className="panel",
            ),
            _panel(say("unit.visits"), "visits"),
            html.Div([choice("units", "Units", {"us": "°F psi", "si": "°C kPa"}, "us"), screen_and_sound_opener()],
                     className="switches"),
        ],
        className="column",
    )  # fmt: skip


def _panel(title: str, name: str) -> Component:
    return html.Section(
        [html.H2(title, className="panel-title"), live(name, html.Div)],
        className="panel",
        hidden=True,
        **attributes(data_live=f"{name}-panel"),
    )
