"""An exercise on the bench: its story, the dialog in which a technician commits to a verdict, and what came of it."""

from collections.abc import Mapping

from dash import dcc, html
from dash.development.base_component import Component

from dashboard import ids
from dashboard.roles import MAY_COMMIT, Visitor
from dashboard.sentences import say
from dashboard.shared.basics import attributes, choice, live
from dashboard.shared.dialogs import dialog, opener, warnings

_ONLY_SIMULATED = say("training.simulated")


def bench_panel() -> Component:
    """Leave the place of the story; browser/training.js shows it while there is an exercise, or what came of one."""
    story = html.Details(
        [html.Summary([say("training.on_the_bench"), live("bench-title")]), live("bench-story", html.P)],
        open=True,
        className="story",
    )
    verdict = opener(live("verdict-label"), ids.VERDICT_OPEN, ids.VERDICT_DIALOG)
    return html.Section(
        [
            story,
            live("bench-result", html.P, class_name="bench-result"),
            html.Div(verdict, hidden=True, **attributes(data_live="verdict-offer")),
        ],
        className="panel training",
        hidden=True,
        **attributes(data_live="bench"),
    )


def hands_opener() -> Component:
    """Make the key to the controls at the unit; browser/hands.js shows it where the unit is simulated."""
    key = opener(say("hands.open"), ids.HANDS_OPEN, ids.HANDS_DIALOG, quiet=True)
    return html.Div(key, hidden=True, **attributes(data_live="hands-offer"))


def hands_dialog() -> Component:
    """Leave the place of the controls at the unit."""
    return dialog(
        ids.HANDS_DIALOG,
        say("hands.title"),
        [
            html.Div(
                [
                    html.P(live("hands-last")),
                    html.P(live("hands-refused"), className="result hands-refused"),
                ],
                className="hands-done",
                role="status",
            ),
            live("hands", html.Div, class_name="hands"),
            html.Details(
                [html.Summary(say("hands.done_before")), live("hands-before-list", html.Ol)],
                hidden=True,
                className="hands-place",
                **attributes(data_live="hands-before"),
            ),
            warnings([_ONLY_SIMULATED]),
        ],
    )


def verdict_dialog(visitor: Visitor) -> Component:
    """Frame the verdict, for who may give one, and below it what it brings to light, for everyone."""
    return dialog(
        ids.VERDICT_DIALOG,
        "The verdict",
        [
            *([_work()] if visitor.role in MAY_COMMIT else []),
            live("reveal", html.Div, class_name="dialog-body"),
            warnings([_ONLY_SIMULATED]),
        ],
    )


def _work() -> Component:
    review = html.Button("Review", id=ids.VERDICT_REVIEW, type="button", className="button")
    commit = html.Button("Commit", id=ids.VERDICT_COMMIT, type="button", className="button button-main", disabled=True)
    return html.Div(
        [
            html.Div(id=ids.VERDICT_FORM, className="dialog-body"),
            *(dcc.Store(id=store) for store in (ids.VERDICT_FAULT, ids.VERDICT_DRAFT)),
            html.Div(id=ids.VERDICT_REVIEWED, role="status", className="reviewed"),
            html.Div([review, commit], className="dialog-buttons"),
            html.P(id=ids.VERDICT_RESULT, className="result", role="status"),
        ],
        className="dialog-body",
        **attributes(data_live="verdict-work"),
    )


def verdict_form(faults: Mapping[str, str]) -> list[Component]:
    """Ask what is wrong: nothing is chosen beforehand."""
    ends = say("training.ends")
    options = {fault: words[:1].upper() + words[1:] for fault, words in faults.items()}
    return [html.P(ends), choice(ids.VERDICT_FAULT, say("training.what_is_wrong"), options, "")]
