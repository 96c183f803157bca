"""How a page is looked at and listened to: its theme, and which events are read aloud and felt.

shared/browser/controls.js keeps the theme, shared/browser/spoken.js reads aloud.
"""

from collections.abc import Mapping

from dash import html
from dash.development.base_component import Component

from dashboard import ids
from dashboard.sentences import say
from dashboard.shared.basics import attributes, choice, icon
from dashboard.shared.dialogs import dialog, opener

EVENTS: Mapping[str, tuple[str, str]] = {
    "settled": (say("spoken.settled"), say("spoken.settled_example")),
    "alarm": (say("spoken.alarm"), say("spoken.alarm_example")),
    "people": (say("spoken.people"), say("spoken.people_example")),
    "advice": (say("spoken.advice"), say("spoken.advice_example")),
}
"""What each is, and how it sounds."""


def screen_and_sound_opener() -> Component:
    """Lead to the choice."""
    words = html.Span(say("comfort.open"), className="words")
    return opener([icon("sun"), words], ids.COMFORT_OPEN, ids.COMFORT_DIALOG, quiet=True)


def screen_and_sound_dialog() -> Component:
    """Offer a key for each kind of event, which says how it sounds; none is chosen until somebody does."""
    return dialog(
        ids.COMFORT_DIALOG,
        say("comfort.title"),
        [
            _theme(),
            html.H3(say("spoken.title")),
            html.P(say("spoken.how")),
            html.Div([_key(event, *words) for event, words in EVENTS.items()], className="dialog-body spoken-keys"),
        ],
    )


def _theme() -> Component:
    themes = {name: [icon(name), html.Span(name.capitalize())] for name in ("light", "dark", "sun")}
    return choice("theme", "Theme", themes, "light")


def _key(event: str, what: str, example: str) -> Component:
    state = attributes(aria_pressed="false", data_speaks=event, data_example=example)
    return html.Button(what, type="button", className="button spoken-key", **state)
