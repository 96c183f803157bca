"""What to do now and why, what the lead says about it, and what has been done on this visit."""

from dash import html
from dash.development.base_component import Component

from dashboard import ids
from dashboard.roles import Visitor
from dashboard.sentences import say
from dashboard.shared.basics import attributes, icon, live


def sentence(visitor: Visitor) -> Component:
    """Leave the place of the one sentence that says what to do now, and of what speaks for it."""
    to_chart = html.A(
        say("advice.to_chart"),
        href="visit#chart",
        className="button",
        hidden=True,
        **attributes(data_live="to-chart"),
    )
    now = [
        live("sentence", html.H2, class_name="sentence"),
        live("awaited", html.P, class_name="awaited"),
        live("left", html.P, class_name="left"),
    ]
    return html.Section(
        [
            html.Div(now),
            live("details", html.Ul, class_name="details"),
            *([to_chart] if visitor.may("describe") else []),
            html.Details(
                [html.Summary(say("advice.more")), live("details-rest", html.Ul, class_name="details")],
                className="fold",
                hidden=True,
                **attributes(data_live="details-folded"),
            ),
        ],
        className="panel say",
    )


def beware() -> Component:
    """Leave the place of the cautions, the worst first; charge/browser/cautions.js folds them once they are read."""
    head = html.Summary([icon("warning"), live("cautions-count"), live("cautions-state", class_name="aside")])
    rest = html.Details(
        [html.Summary(live("cautions-more")), live("cautions-rest", html.Ul, class_name="cautions")],
        className="rest",
        hidden=True,
        **attributes(data_live="cautions-folded"),
    )
    return html.Details(
        [head, live("cautions", html.Ul, class_name="cautions"), rest],
        open=True,
        hidden=True,
        className="panel beware",
        **attributes(data_live="beware"),
    )


def lead_note(visitor: Visitor) -> Component:
    """Leave the place of a note that waits to be read; only a technician can say that it was."""
    got_it = html.Button("Got it", id=ids.GOT_IT, type="button", className="button button-main")
    unread = html.P(say("advice.not_read_yet"), className="aside")
    return html.Section(
        [
            html.P([icon("note"), live("note-by")], className="note-by"),
            live("note-text", html.P, class_name="note-text"),
            got_it if visitor.may("acknowledge") else unread,
        ],
        className="panel note",
        hidden=True,
        **attributes(data_live="note", aria_live="assertive"),
    )


def log() -> Component:
    """Leave the place of the newest marks of the visit."""
    head = html.Div([html.H2("This visit", className="panel-title"), live("totals")], className="panel-head")
    whole = html.Button(
        type="button", className="button button-quiet", hidden=True, **attributes(data_live="log-whole")
    )
    return html.Section([head, live("log", html.Ol, class_name="log-list"), whole], className="panel log")
