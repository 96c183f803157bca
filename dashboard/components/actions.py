"""Within a thumb's reach: what the technician does, or the note that a lead writes."""

from dash import dcc, html
from dash.development.base_component import Component

from dashboard import ids
from dashboard.components.basics import icon
from dashboard.roles import MAY_ASK, Visitor


def actions(visitor: Visitor) -> Component:
    """Lay out the bar at the bottom for this visitor."""
    acts = visitor.role in MAY_ASK["added"]
    return html.Footer(
        [
            html.P(id=ids.OUTCOME, className="outcome", role="status"),
            html.Div(_buttons() if acts else _note_box(), className="actions-row"),
        ],
        className=f"actions actions-{visitor.role}",
    )


def _buttons() -> list[Component]:
    return [
        _opener("Added…", ids.ADDED.open, ids.ADDED.dialog, "button button-main"),
        _opener("Recovered…", ids.RECOVERED.open, ids.RECOVERED.dialog),
        html.Button("Take reading", id=ids.TAKE_READING, type="button", className="button"),
        _opener("Note…", ids.NOTE_OPEN, ids.NOTE_DIALOG),
        _opener([icon("invite"), html.Span("Invite a lead")], ids.INVITE_OPEN, ids.INVITE_DIALOG, "button button-quiet"),
    ]


def _note_box() -> list[Component]:
    return [
        html.Label("Note to the technician", htmlFor=ids.NOTE_TEXT, className="unseen"),
        dcc.Textarea(id=ids.NOTE_TEXT, className="field note-field", placeholder="Note to the technician", maxLength=500),
        html.Button("Send note", id=ids.NOTE_SEND, type="button", className="button button-main"),
        html.P(id=ids.NOTE_RESULT, className="result", role="status"),
    ]


def _opener(
    content: str | list[Component], button_id: str, dialog_id: str, class_name: str = "button"
) -> Component:
    return html.Button(
        content, id=button_id, type="button", className=class_name, **{"data-opens": dialog_id, "aria-haspopup": "dialog"}
    )
