"""A lead's stop, on whichever page the technician has open: shared/browser/stop.js fills it."""

from dash import html
from dash.development.base_component import Component

from dashboard.sentences import say
from dashboard.shared.basics import attributes, icon, live


def stop_of_a_lead() -> Component:
    """Leave the place of a lead's stop: all of the screen, until it is acknowledged."""
    return html.Dialog(
        [
            html.P([icon("warning"), html.Span(say("visit.stop"))], id="stop-title", className="stop-word"),
            live("stop-text", html.P, class_name="stop-text"),
            live("stop-by", html.P, class_name="stop-by"),
            html.P(className="result", role="status", **attributes(data_live="stop-result")),
            html.Button(say("visit.stopped"), id="stop-key", type="button", className="button stop-key"),
        ],
        id="stop",
        className="stop-dialog",
        **attributes(aria_labelledby="stop-title"),
    )
