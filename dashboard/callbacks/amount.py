"""Recording refrigerant that was added or recovered: open, review, and record with a second touch."""

from typing import Any

import msgspec
from dash import Dash, Input, Output, State, ctx, html
from dash.development.base_component import Component

from calc import wording
from calc.units import System
from dashboard import ids, words
from dashboard.asks import AskBody, mass_kg, new_id, submit
from dashboard.callbacks.outcome import failure, success
from dashboard.components.dialogs import MASS_UNITS, amount_form
from dashboard.errors import AskError
from dashboard.hub import Hub
from dashboard.roles import visitor
from ingest.wire.messages import AskKind

Draft = dict[str, Any]


def register(app: Dash, hub: Hub) -> None:
    """Add the callbacks of both dialogs."""
    dialogs: tuple[tuple[ids.Amount, AskKind], ...] = ((ids.ADDED, "added"), (ids.RECOVERED, "recovered"))
    for own, kind in dialogs:
        _register_open(app, hub, own, kind)
        _register_review(app, hub, own, kind)
        _register_record(app, hub, own, kind)


def _register_open(app: Dash, hub: Hub, own: ids.Amount, kind: AskKind) -> None:
    @app.callback(
        Output(own.body, "children"),
        Output(own.phase, "data"),
        Input(own.open, "n_clicks"),
        State(ids.UNITS, "data"),
        prevent_initial_call=True,
    )
    async def open_dialog(_clicks: int, system: System) -> tuple[list[Component], str]:
        return amount_form(own, kind, hub.about.unit if hub.about else None, system), "liquid"


def _register_review(app: Dash, hub: Hub, own: ids.Amount, kind: AskKind) -> None:
    """Say what would be recorded; any change takes the review back, so that nothing unread is recorded."""

    @app.callback(
        Output(own.reviewed, "children"),
        Output(own.draft, "data"),
        Output(own.confirm, "disabled"),
        Input(own.review, "n_clicks"),
        Input(own.amount, "value"),
        Input(own.phase, "data"),
        State(ids.UNITS, "data"),
        prevent_initial_call=True,
    )
    async def review(
        _clicks: int | None, amount: str | None, phase: str, system: System
    ) -> tuple[Component | str, Draft | None, bool]:
        if ctx.triggered_id != own.review:
            return "", None, True
        mass = f"{amount or ''} {MASS_UNITS[system]}"
        try:
            sentence = _sentence(hub, kind, mass, phase, system)
        except AskError as error:
            return failure(error), None, True
        return html.P(sentence), {"id": new_id(), "mass": mass, "phase": phase}, False


def _sentence(hub: Hub, kind: AskKind, mass: str, phase: str, system: System) -> str:
    unit = hub.about.unit if hub.about else None
    refrigerant = unit.refrigerant if unit else "refrigerant"
    what = f"{wording.mass(mass_kg(mass), system)} of {refrigerant} {kind} as {phase}."
    if kind == "added" and phase == "vapour" and unit and unit.charge_as_liquid:
        what += f" {refrigerant} must be charged as liquid: record vapour only if that is what was done."
    return f"{what} Touch Record to keep it."


def _register_record(app: Dash, hub: Hub, own: ids.Amount, kind: AskKind) -> None:
    @app.callback(
        Output(own.result, "children"),
        Output(own.confirm, "disabled", allow_duplicate=True),
        Input(own.confirm, "n_clicks"),
        State(own.draft, "data"),
        State(ids.UNITS, "data"),
        prevent_initial_call=True,
    )
    async def record(_clicks: int, draft: Draft, system: System) -> tuple[Component, bool]:
        try:
            mark = await submit(hub, visitor.get(), kind, msgspec.convert(draft, AskBody))
        except AskError as error:
            return failure(error), False
        what = words.mark(mark, system) if mark else kind
        return success(f"Recorded: {what}. Now wait until the figures have settled."), True
