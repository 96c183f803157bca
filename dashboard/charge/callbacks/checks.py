"""Checking an instrument: choose, do as told, look at what was found, and correct with a second touch."""

from dash import Dash, Input, Output, State, html
from dash.development.base_component import Component

from calc.units import System
from dashboard import ids, words
from dashboard.asks import AskBody, id_of_touch, seen, submit
from dashboard.charge.layout.checks import candidates, check_form
from dashboard.errors import AskError, AskQuestionError
from dashboard.hub import Hub
from dashboard.roles import visitor
from dashboard.sentences import say
from dashboard.shared.outcome import failure, success
from dashboard.shared.touched import is_touched, is_touched_alone
from ingest.wire.messages import Checked, CheckKind, Corrected


def register(app: Dash, hub: Hub) -> None:
    """Add the callbacks."""
    _register_form(app, hub)
    _register_check(app, hub)
    _register_correct(app, hub)


def _register_form(app: Dash, hub: Hub) -> None:
    @app.callback(
        Output(ids.CHECK_FORM, "children"),
        Output(ids.CHECK_CHANNEL, "data"),
        Output(ids.CHECK_OTHER, "data"),
        Input(ids.CHECK_OPEN, "n_clicks"),
        Input(ids.CHECK_KIND, "data"),
        running=[(Output(ids.CHECK_START, "disabled"), True, False)],  # or it would check what is not chosen any more
        prevent_initial_call=True,
    )
    async def show(_clicks: int | None, kind: CheckKind) -> tuple[list[Component], str | None, str | None]:
        first, second, *_ = [*candidates(kind, hub.about), None, None]
        return check_form(kind, hub.about, hub.found), first, second


def _register_check(app: Dash, hub: Hub) -> None:
    """Say what was found; any other choice takes that back, so that nothing else is corrected by it."""

    @app.callback(
        Output(ids.CHECK_FOUND, "children"),
        Output(ids.CHECK_DRAFT, "data"),
        Output(ids.CHECK_CORRECT, "disabled"),
        Output(ids.CHECK_CONFIRM, "hidden"),
        Output(ids.CHECK_ASKED, "data"),
        Input(ids.CHECK_START, "n_clicks"),
        Input(ids.CHECK_CONFIRM, "n_clicks"),
        Input(ids.CHECK_KIND, "data"),
        Input(ids.CHECK_CHANNEL, "data"),
        Input(ids.CHECK_OTHER, "data"),
        State(ids.UNITS, "data"),
        State(ids.OPENING, "data"),
        State(ids.CHECK_ASKED, "data"),
        prevent_initial_call=True,
    )
    async def check(
        clicks: int | None,
        confirmations: int | None,
        kind: CheckKind,
        channel: str | None,
        other: str | None,
        system: System,
        opening: str,
        asks: str | None,
    ) -> tuple[Component | str, str | None, bool, bool, str]:
        is_confirmed = is_touched_alone(ids.CHECK_CONFIRM)
        if not (is_confirmed or is_touched(ids.CHECK_START)):
            return "", None, True, True, ""
        body = AskBody(
            id_of_touch(opening, "check", f"{clicks}-{confirmations}"),
            seen(hub),
            check=kind,
            channel=channel or "",
            other=(other or "") if kind == "one_pipe" else "",
            confirmed=is_confirmed,
            confirms=tuple((asks or "").split()) if is_confirmed else (),
        )
        try:
            mark = await submit(hub, visitor.get(), "check", body)
        except AskQuestionError as asked:
            return html.P(getattr(asked.question, system)), None, True, False, " ".join(asked.asks)
        except AskError as error:
            return failure(error), None, True, True, ""
        if not isinstance(mark, Checked):
            return failure(AskError(502, say("checks.none_recorded"))), None, True, True, ""
        sentences = [html.P(sentence) for sentence in words.check_found(mark.check, system)]
        return html.Div(sentences), mark.id, mark.check.corrected_standard_uncertainty is None, True, ""


def _register_correct(app: Dash, hub: Hub) -> None:
    @app.callback(
        Output(ids.CHECK_RESULT, "children"),
        Output(ids.CHECK_CORRECT, "disabled", allow_duplicate=True),
        Input(ids.CHECK_CORRECT, "n_clicks"),
        State(ids.CHECK_DRAFT, "data"),
        prevent_initial_call=True,
    )
    async def correct(_clicks: int, check_id: str) -> tuple[Component, bool]:
        try:
            body = AskBody(id=f"{check_id}-taken", checks=(check_id,))  # one check corrects once, however often touched
            mark = await submit(hub, visitor.get(), "correct", body)
        except AskError as error:
            return failure(error), False
        what = words.channel(mark.calibration.channel) if isinstance(mark, Corrected) else "The instrument"
        return success(say("checks.corrected", what=what)), True
