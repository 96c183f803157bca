"""A lead's stop, on whichever page the technician has open: shared/browser/stop.js fills it."""

from dash import html
from dash.development.base_component import Component

from dashboard.display import Json
from dashboard.roles import Visitor
from dashboard.sentences import say
from dashboard.shared.basics import attributes, icon, live
from ingest.wire.messages import Visit


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


def standing_bar(visitor: Visitor) -> Component:
    """Leave the place of a stop that was acknowledged, until a lead says go on, who has the key beside it."""
    key = html.Button(say("talk.go_on"), id="go-on", type="button", className="button")
    return html.Div(
        [icon("warning"), live("stands-text"), *([key] if visitor.may("release") else [])],
        className="stop-stands",
        hidden=True,
        role="alert",
        **attributes(data_live="stands", aria_label=say("talk.lead_asked")),
    )


def stop_that_stands(visit: Visit | None) -> Json | None:
    """Lay out the stop that a technician has acknowledged and for which no lead has said go on; else None."""
    it = visit.stop if visit else None
    if it is None or it.acknowledged_s is None or it.released_s is not None:
        return None
    unsaved = "" if it.saved else say("talk.stop_unsaved")
    return {"id": it.id, "by": it.by, "time": it.delivered_s, "unsaved": unsaved}
