"""Within a thumb's reach: what the technician does, or a lead's stop, in one touch, and the note that they write."""

from dash import dcc, html
from dash.development.base_component import Component

from dashboard import ids
from dashboard.asks import LONGEST_TEXT
from dashboard.roles import Visitor
from dashboard.sentences import say
from dashboard.shared.basics import attributes
from dashboard.shared.dialogs import opener


def actions(visitor: Visitor) -> Component:
    """Lay out the bar at the bottom for this visitor."""
    return html.Footer(
        [
            html.P(id=ids.OUTCOME, className="outcome", role="status"),
            html.Div(_offered(visitor), className="actions-row"),
        ],
        className=f"actions actions-{visitor.side}",
    )


def _offered(visitor: Visitor) -> list[Component]:
    if visitor.may("added"):
        return _buttons()
    return _note_box() if visitor.may("note") else [html.P(say("actions.viewer"), className="aside")]


def _buttons() -> list[Component]:
    return [
        opener("Added…", ids.ADDED.open, ids.ADDED.dialog),
        opener("Recovered…", ids.RECOVERED.open, ids.RECOVERED.dialog),
        html.Button("Take reading", id=ids.TAKE_READING, type="button", className="button"),
        opener("Note…", ids.NOTE_OPEN, ids.NOTE_DIALOG),
    ]


def _note_box() -> list[Component]:
    label = say("actions.note_to_the_technician")
    return [
        html.Button(
            say("talk.stop"),
            id="stop-at-once",
            type="button",
            className="button stop-at-once",
            **attributes(data_says=say("talk.stop_words")),
        ),
        html.Button(type="button", className="button pointed", hidden=True, **attributes(data_live="pointed")),
        html.Label(label, htmlFor=ids.NOTE_TEXT, className="unseen"),
        dcc.Textarea(id=ids.NOTE_TEXT, className="field note-field", placeholder=label, maxLength=LONGEST_TEXT),
        html.Button("Send note", id=ids.NOTE_SEND, type="button", className="button button-main"),
        html.P(id=ids.NOTE_RESULT, className="result", role="status"),
    ]
