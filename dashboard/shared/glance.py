"""A page read from three metres: the state in a word, two figures, how long still. shared/browser/glance.js fills it.

It is a lock too: rain and a sleeve touch, and do not hold. Only its one key leads back, held for a second.
"""

from dash import html
from dash.development.base_component import Component

from dashboard import ids
from dashboard.sentences import say
from dashboard.shared.basics import attributes, icon, live
from dashboard.shared.dialogs import opener

FIGURES = ("superheat", "subcooling")


def glance_opener() -> Component:
    """Lead to the glance, from whichever page."""
    return opener(say("glance.open"), ids.GLANCE_OPEN, ids.GLANCE, quiet=True)


def glance() -> Component:
    """Leave the places of the glance: all of the screen, and nothing in it to touch but the way back."""
    return html.Dialog(
        [
            live("glance-alarm", html.P, class_name="glance-alarm"),
            html.P([live("glance-of"), _simulated()], className="glance-of"),
            html.H2(id="glance-word", className="glance-word", **attributes(data_live="glance-word")),
            html.P(
                [icon("warning"), say("glance.may_start")],
                className="glance-may-start",
                hidden=True,
                **attributes(data_live="glance-may-start"),
            ),
            live("glance-sentence", html.P, class_name="glance-sentence"),
            live("glance-awaited", html.P, class_name="glance-awaited"),
            html.Div([_figure(name) for name in FIGURES], className="glance-figures"),
            html.P(
                [icon("note"), say("glance.note"), live("glance-note")],
                className="glance-note",
                hidden=True,
                **attributes(data_live="glance-noted"),
            ),
            html.Button(
                [say("glance.back"), html.Span(className="held", **attributes(aria_hidden="true"))],
                id=ids.GLANCE_BACK,
                type="button",
                className="button glance-back",
            ),
        ],
        id=ids.GLANCE,
        className="glance",
        **attributes(data_live="glance", aria_labelledby="glance-word"),
    )


def _simulated() -> Component:
    return html.Span(say("visit.simulated"), className="bench", hidden=True, **attributes(data_live="glance-bench"))


def _figure(name: str) -> Component:
    parts = ("label", "value", "spread", "target", "standing")
    return html.P(
        [live(f"glance-{name}-{part}", class_name=f"glance-{part}") for part in parts],
        className=f"glance-figure glance-{name}",
    )
