"""The dialogs: their frame, a note, an invitation."""

from collections.abc import Sequence

from dash import dcc, html
from dash.development.base_component import Component

from calc.cautions import Beware
from dashboard import ids
from dashboard.asks import LONGEST_TEXT
from dashboard.sentences import say
from dashboard.shared.basics import Content, attributes, icon


def dialogs() -> list[Component]:
    """Lay out the dialogs of notes and invitations, closed."""
    return [note_dialog(), invite_dialog()]


def beware(found: Beware) -> list[Component]:
    """List what to beware of at a step, and fold what holds for the whole visit."""
    now, once = ([str(said) for said in kind] for kind in found)
    folded = html.Details([html.Summary(say("dialogs.whole_visit", count=len(once))), warnings(once)])
    return [warnings(now), *([folded] if once else [])]


def warnings(texts: Sequence[str]) -> Component:
    """List what to beware of."""
    return html.Ul([html.Li([icon("warning"), html.Span(text)]) for text in texts], className="cautions")


def note_dialog() -> Component:
    """Ask for a note."""
    return dialog(
        ids.NOTE_DIALOG,
        say("note.title"),
        [
            html.Label(say("note.text"), htmlFor=ids.NOTE_TEXT),
            dcc.Textarea(id=ids.NOTE_TEXT, className="field note-field", maxLength=LONGEST_TEXT),
            html.Div(
                [html.Button("Save note", id=ids.NOTE_SEND, type="button", className="button button-main")],
                className="dialog-buttons",
            ),
            html.P(id=ids.NOTE_RESULT, className="result", role="status"),
        ],
    )


def invite_dialog() -> Component:
    """Show a link for a lead."""
    return dialog(
        ids.INVITE_DIALOG,
        "Invite a lead",
        [
            html.P(say("invite.lead_watches")),
            html.Div(id=ids.INVITE_RESULT, role="status", className="dialog-body"),
            html.P([say("invite.more"), " ", html.A(say("people.title"), href="/people")]),
        ],
    )


def opener(content: Content, button_id: str, dialog_id: str, *, main: bool = False, quiet: bool = False) -> Component:
    """Make a button that opens a dialog."""
    looks = f"button{' button-main' * main}{' button-quiet' * quiet}"
    opens = attributes(data_opens=dialog_id, aria_haspopup="dialog")
    return html.Button(content, id=button_id, type="button", className=looks, **opens)


def dialog(dialog_id: str, title: str, content: list[Component]) -> Component:
    """Frame a dialog, closed. What there is to stop for stands in it too: a dialog covers all the rest of the page."""
    title_id = f"{dialog_id}-title"
    closes = attributes(data_closes=dialog_id, aria_label="Close")
    close = html.Button(icon("close"), type="button", className="button button-quiet dialog-close", **closes)
    return html.Dialog(
        [html.Div([_stops(), html.H2(title, id=title_id), close], className="dialog-head"), *content],
        id=dialog_id,
        className="dialog",
        **attributes(aria_labelledby=title_id),
    )


def _stops() -> Component:
    return html.Div(className="dialog-stops", role="alert", **attributes(aria_label="Stop"))
