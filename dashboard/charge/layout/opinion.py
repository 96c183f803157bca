"""What to stop for, what would explain the readings, and whether the charge may be judged."""

from dash import html
from dash.development.base_component import Component

from dashboard.sentences import say
from dashboard.shared.basics import attributes, live


def data_alarm() -> Component:
    """Leave the place of what is wrong with the data: not saved, or none."""
    return html.Div(className="alarm", role="alert", **attributes(data_live="alarm", aria_label="Data"))


def stops() -> Component:
    """Leave the place of the reasons to stop at once."""
    return html.Div(className="stops", role="alert", **attributes(data_live="stops", aria_label="Stop"))


def causes() -> Component:
    """Leave the place of what would explain the readings, the likeliest first, and of what else is judged or is not."""
    return html.Section(
        [
            html.H2(say("opinion.causes"), className="unseen"),
            live("causes", html.Div, class_name="causes"),
            html.P(say("opinion.no_cause"), className="no-cause", **attributes(data_live="no-cause")),
            html.Button(type="button", className="button button-quiet", hidden=True, **attributes(data_live="others")),
            live("not-judged", html.P, class_name="aside"),
            _conditions(),
        ],
        className="panel opinion",
        hidden=True,
    )


def _conditions() -> Component:
    """Leave the place of the conditions under which the charge may be judged; folded until someone asks."""
    return html.Details(
        [
            html.Summary([html.H2(say("opinion.verdict"), className="panel-title"), live("verdict")]),
            live("conditions", html.Ul, class_name="conditions"),
            html.P(say("opinion.protocol"), className="aside"),
        ],
        className="judgement",
    )
