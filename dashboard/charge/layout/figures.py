"""What moves: the ruler, the traces and the instruments. The live script draws into these places."""

from dash import html
from dash.development.base_component import Component

from dashboard import ids
from dashboard.roles import MAY_TOUCH, Visitor
from dashboard.sentences import say
from dashboard.shared.basics import attributes, choice, live
from dashboard.shared.dialogs import opener
from dashboard.training.layout import hands_opener


def ruler() -> Component:
    """Leave the place of the temperature ruler."""
    return html.Section(
        [
            html.H2(say("figures.ruler"), className="unseen"),
            live("ruler", html.Div, class_name="ruler-drawing"),
            live("away", html.Ul, class_name="away"),
            live("silence", html.Div, class_name="silence"),
        ],
        className="panel ruler",
    )


def traces() -> Component:
    """Leave the place of the two traces with their legend and their span of time."""
    spans = choice("minutes", say("figures.span_of_time"), {"20": "20 min", "60": "1 h", "240": "4 h"}, "20")
    title = html.H2([_key("superheat"), _key("subcooling"), _not_received()], className="panel-title keys")
    return html.Section(
        [
            html.Div([title, spans], className="panel-head"),
            live("traces", html.Div, class_name="chart"),
        ],
        className="panel traces",
    )


def _not_received() -> Component:
    """Name the stretches in which nothing came: what lies between is in the record, and no line is drawn through it."""
    words = say("figures.missing")
    shown = attributes(data_live="not-received")
    return html.Span([html.Span(className="hole"), words], className="key", hidden=True, **shown)


def _key(name: str) -> Component:
    target = live(f"target-{name}", class_name=f"target-{name}")
    return html.Span([html.Span(className=f"line line-{name}"), name.capitalize(), target], className="key")


def amps() -> Component:
    """Leave the place of the motor currents."""
    return html.Section(
        [
            html.Div(
                [
                    html.H2(["Compressor ", live("compressor-amps", class_name="figure")], className="panel-title"),
                    live("fan-amps", class_name="aside"),
                ],
                className="panel-head",
            ),
            live("amps", html.Div, class_name="chart"),
        ],
        className="panel amps",
    )


def instruments(visitor: Visitor) -> Component:
    """Leave the place of the table of instruments with their newest values, and of what is done to them."""
    keys = [hands_opener()] if visitor.role in MAY_TOUCH else []
    keys += [opener("Check…", ids.CHECK_OPEN, ids.CHECK_DIALOG, quiet=True)] if visitor.may("check") else []
    head = html.Summary([html.H2("Instruments", className="panel-title"), live("instruments-read", class_name="aside")])
    return html.Section(
        [
            live("instruments-wrong", html.Ul, class_name="wrong"),
            html.Details([head, live("instruments", html.Div)], className="fold"),
            html.Div(keys, className="panel-head"),
        ],
        className="panel instruments",
    )
