"""What is read aloud, and felt: each kind of event by a choice of its own. shared/browser/spoken.js reads it."""

from collections.abc import Mapping

from dash import html
from dash.development.base_component import Component

from dashboard import ids
from dashboard.sentences import say
from dashboard.shared.basics import attributes, icon
from dashboard.shared.dialogs import dialog, opener

EVENTS: Mapping[str, tuple[str, str]] = {
    "settled": (say("spoken.settled"), say("spoken.settled_example")),
    "alarm": (say("spoken.alarm"), say("spoken.alarm_example")),
    "people": (say("spoken.people"), say("spoken.people_example")),
    "advice": (say("spoken.advice"), say("spoken.advice_example")),
}
"""What each is, and how it sounds."""


def spoken_opener() -> Component:
    """Lead to the choice."""
    words = html.Span(say("spoken.open"), className="words")
    return opener([icon("voice"), words], ids.SPOKEN_OPEN, ids.SPOKEN_DIALOG, quiet=True)


def spoken_dialog() -> Component:
    """Offer a key for each kind of event, which says how it sounds; none is chosen until somebody does."""
    return dialog(
        ids.SPOKEN_DIALOG,
        say("spoken.title"),
        [
            html.P(say("spoken.how")),
            html.Div([_key(event, *words) for event, words in EVENTS.items()], className="dialog-body spoken-keys"),
        ],
    )


def _key(event: str, what: str, example: str) -> Component:
    state = attributes(aria_pressed="false", data_speaks=event, data_example=example)
    return html.Button(what, type="button", className="button spoken-key", **state)
