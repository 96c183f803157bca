"""The top of the page: which unit, how long, whether the instruments are there, whether it is saved."""

from dash import html
from dash.development.base_component import Component

from dashboard import ids
from dashboard.roles import MAY_INVITE, Visitor
from dashboard.sentences import say
from dashboard.shared.basics import attributes, choice, icon, live
from dashboard.shared.dialogs import opener
from dashboard.shared.glance import glance_opener
from dashboard.shared.navigation import navigation
from dashboard.shared.screen_and_sound import screen_and_sound_opener


def header(visitor: Visitor) -> Component:
    """Lay out the header for this visitor."""
    invite = [opener([icon("invite"), _words("Invite…")], ids.INVITE_OPEN, ids.INVITE_DIALOG, quiet=True)]
    return html.Header(
        [
            html.Div(
                [
                    live("tag", html.H1),
                    _bench_label(),
                    _played_label(),
                    *_role_label(visitor),
                    live("place", html.P),
                    *_watchers(visitor),
                ],
                className="unit",
            ),
            navigation("charge", visitor, glance_opener()),
            html.Div(
                [
                    live("facts", class_name="facts"),
                    html.Span([live("circuit"), "Visit ", live("visit")], className="fact"),
                ],
                className="facts-block",
            ),
            html.Div(
                [live("instrument-count", class_name="fact status"), live("saved", class_name="fact status")],
                className="facts-block",
            ),
            html.Div(
                [_units(), screen_and_sound_opener(), *(invite if visitor.role in MAY_INVITE else [])],
                className="switches",
            ),
        ],
        className="top",
    )


def _bench_label() -> Component:
    """Say, where it cannot be missed, that the unit is simulated."""
    return html.Span(
        ["Bench — simulated unit", live("speed")],
        className="bench",
        hidden=True,
        **attributes(data_live="bench-label"),
    )


def _played_label() -> Component:
    """Say likewise that a recorded visit is played again."""
    return html.Span(say("visit.played"), className="bench", hidden=True, **attributes(data_live="played-label"))


def _watchers(visitor: Visitor) -> list[Component]:
    """Leave whoever acts the place of who watches from elsewhere: a line of its own, since names are long.

    Who watches is told so by their role, and not once more.
    """
    return [live("watchers", html.P, class_name="watchers")] if visitor.may("added") else []


def _role_label(visitor: Visitor) -> list[Component]:
    """Say to those who only watch that they do."""
    if visitor.may("added"):
        return []
    who = f" {visitor.name or 'You'}, {visitor.role}: watching"
    return [html.Span([icon("note"), who, live("lag")], className="role")]


def _units() -> Component:
    return choice("units", "Units", {"us": "°F psi", "si": "°C kPa"}, "us")


def _words(content: str) -> Component:
    """Write words that give way to their icon on a phone, yet are still read out."""
    return html.Span(content, className="words")
