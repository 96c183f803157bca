"""What to do now, what the lead says about it, and what has been done on this visit."""

from dash import html
from dash.development.base_component import Component

from dashboard import ids
from dashboard.components.basics import icon, live, panel
from dashboard.roles import MAY_ASK, Visitor


def advice() -> Component:
    """Leave the place of the one sentence, with what speaks for it and what to beware of."""
    return html.Section(
        [
            live("sentence", html.H2, class_name="sentence"),
            live("details", html.Ul, class_name="details"),
            live("cautions", html.Ul, class_name="cautions"),
            html.P(
                "The nameplate, the maker's instructions, local codes and licensed practice come first.",
                className="deference",
            ),
        ],
        className="panel advice",
    )


def lead_note(visitor: Visitor) -> Component:
    """Leave the place of a note that waits to be read; only a technician can say that it was."""
    got_it = [html.Button("Got it", id=ids.GOT_IT, type="button", className="button button-main")]
    return html.Section(
        [
            html.P([icon("note"), live("note-by")], className="note-by"),
            live("note-text", html.P, class_name="note-text"),
            *(got_it if visitor.role in MAY_ASK["acknowledge"] else [html.P("Not read yet", className="aside")]),
        ],
        className="panel note",
        hidden=True,
        **{"data-live": "note", "aria-live": "assertive"},
    )


def log() -> Component:
    """Leave the place of the newest marks of the visit."""
    return panel(
        "This visit",
        [live("totals", html.P, class_name="totals"), live("log", html.Ol, class_name="log-list")],
        class_name="log",
    )
