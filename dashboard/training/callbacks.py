"""Giving the verdict on an exercise: choose, review, and commit with a second touch."""

from dash import Dash, Input, Output, State, html
from dash.development.base_component import Component

from dashboard import ids
from dashboard.errors import AskError
from dashboard.hub import Hub
from dashboard.roles import visitor
from dashboard.sentences import say
from dashboard.shared.outcome import failure
from dashboard.shared.touched import is_touched
from dashboard.training.layout import verdict_form
from dashboard.training.verdicts import commit, in_words


def register(app: Dash, hub: Hub) -> None:
    """Add the callbacks."""
    _register_open(app, hub)
    _register_review(app, hub)
    _register_commit(app, hub)


def _register_open(app: Dash, hub: Hub) -> None:
    @app.callback(
        Output(ids.VERDICT_FORM, "children"),
        Output(ids.VERDICT_FAULT, "data"),
        Input(ids.VERDICT_OPEN, "n_clicks"),
        prevent_initial_call=True,
    )
    async def open_dialog(_clicks: int) -> tuple[list[Component], None]:
        return verdict_form(hub.exercise.faults if hub.exercise else {}), None


def _register_review(app: Dash, hub: Hub) -> None:
    """Say what would be committed; another choice takes the review back."""

    @app.callback(
        Output(ids.VERDICT_REVIEWED, "children"),
        Output(ids.VERDICT_DRAFT, "data"),
        Output(ids.VERDICT_COMMIT, "disabled"),
        Input(ids.VERDICT_REVIEW, "n_clicks"),
        Input(ids.VERDICT_FAULT, "data"),
        prevent_initial_call=True,
    )
    async def review(_clicks: int | None, fault: str | None) -> tuple[Component | str, str | None, bool]:
        if not is_touched(ids.VERDICT_REVIEW):
            return "", None, True
        try:
            verdict = in_words(hub, fault or "")
        except AskError as error:
            return failure(error), None, True
        return html.P(say("training.review", verdict=verdict)), fault, False


def _register_commit(app: Dash, hub: Hub) -> None:
    @app.callback(
        Output(ids.VERDICT_RESULT, "children"),
        Input(ids.VERDICT_COMMIT, "n_clicks"),
        State(ids.VERDICT_DRAFT, "data"),
        prevent_initial_call=True,
    )
    async def commit_verdict(_clicks: int, fault: str | None) -> Component | str:
        try:
            await commit(hub, visitor.get(), fault or "")
        except AskError as error:
            return failure(error)
        return ""
