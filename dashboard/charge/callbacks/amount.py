"""Recording an amount of refrigerant, or correcting one: open, review, and record with a second touch.

One opening of a dialog is one entry: everything that is sent from it has the same id, so that no touch too many, no
answer that was lost and no second thought writes it twice.
"""

import json
from collections.abc import Mapping, Sequence
from typing import Any

import msgspec
from dash import ClientsideFunction, Dash, Input, Output, State, html, no_update
from dash.development.base_component import Component

from calc import wording
from calc.amounts import objection
from calc.ledger import Doubtful, doubtful_amount
from calc.sentences import Sentence
from calc.sentences import say as word
from calc.units import System
from dashboard import ids, words
from dashboard.asks import AskBody, mass_kg, new_id, seen, submit
from dashboard.charge.layout.amounts import Suggestion, amount_form, correction_form, with_unit
from dashboard.errors import AskError, AskQuestionError
from dashboard.hub import Hub
from dashboard.roles import visitor
from dashboard.sentences import say
from dashboard.shared.basics import attributes, icon
from dashboard.shared.outcome import failure, success
from dashboard.shared.touched import is_touched
from ingest.wire.messages import Added, Correction, Recovered, UnitAbout, Wording

Draft = dict[str, Any]

NOTHING_MOVED = "nothing"


def register(app: Dash, hub: Hub) -> None:
    """Add the callbacks of the three dialogs."""
    for own in (ids.ADDED, ids.RECOVERED):
        _register_open(app, hub, own)
    _register_open_correction(app, hub)
    for own in (ids.ADDED, ids.RECOVERED, ids.CORRECTION):
        _register_review(app, hub, own)
        _register_record(app, hub, own)
        app.clientside_callback(  # type: ignore[no-untyped-call] # Dash has no types for it
            ClientsideFunction("page", "closeDialog"),
            Output(own.closed, "data"),
            Input(own.recorded, "data"),
            prevent_initial_call=True,
        )


def _register_open(app: Dash, hub: Hub, own: ids.Amount) -> None:
    @app.callback(
        Output(own.body, "children"),
        Output(own.phase, "data"),
        Output(own.draft, "data"),
        Output(own.result, "children"),
        Input(own.open, "n_clicks"),
        State(ids.UNITS, "data"),
        prevent_initial_call=True,
    )
    async def open_dialog(_clicks: int, system: System) -> tuple[list[Component], str, Draft, str]:
        suggestion = suggested(hub, own, system)
        alarms = [alarm.kind for alarm in hub.advice.alarms] if hub.advice else []
        unit = hub.about.unit if hub.about else None
        form = amount_form(own, unit, system, suggestion, alarms, found=hub.found)
        return form, suggestion.phase, {"id": new_id(), "visit": seen(hub), **_where(unit)}, ""


def _where(unit: UnitAbout | None) -> Draft:
    """Say of which circuit it is, where one was named: the one in view as the dialog opens."""
    return {"fields": {"circuit": unit.circuit}} if unit and unit.circuit else {}


def suggested(hub: Hub, own: ids.Amount, system: System) -> Suggestion:
    """Take the amount from the advice where it is what the advice says to do next. An exercise is not helped along."""
    advice = hub.advice
    step = advice.next_step if advice and not hub.exercise and not advice.alarms else None
    unit = hub.about.unit if hub.about else None
    usual = "vapour" if own is ids.ADDED and unit is not None and not unit.charge_as_liquid else "liquid"
    if step is None or (step.step_kg > 0) != (own is ids.ADDED):
        return Suggestion(phase=usual)
    return Suggestion(wording.mass_to_move(step.step_kg, system), step.phase or usual)


def _register_open_correction(app: Dash, hub: Hub) -> None:
    own = ids.CORRECTION

    @app.callback(
        Output(own.body, "children"),
        Output(own.phase, "data"),
        Output(own.draft, "data"),
        Output(own.result, "children"),
        Input(ids.CORRECTION_OF, "data"),
        State(ids.UNITS, "data"),
        prevent_initial_call=True,
    )
    async def open_correction(touched: Draft, system: System) -> tuple[list[Component], str, Draft, str]:
        of = hub.marks.get(touched["mark"])
        if not isinstance(of, Added | Recovered):
            return [html.P(say("amount.not_one"))], "", {}, ""
        said = say("amount.recorded_by", mark=words.mark(of, system), by=of.by or "the rig")
        now = wording.mass(_stands(hub, of) or of.mass_kg, system, weighed=True)
        return correction_form(own, said, now, system), "amount", {"id": new_id(), "visit": seen(hub), "of": of.id}, ""


def _stands(hub: Hub, of: Added | Recovered) -> float | None:
    """Tell what an amount is now [kg], with its newest correction."""
    corrections = [it for it in hub.marks.values() if isinstance(it, Correction) and it.of == of.id]
    return corrections[-1].mass_kg if corrections else of.mass_kg


def _register_review(app: Dash, hub: Hub, own: ids.Amount) -> None:
    """Say what would be recorded; any change takes the review back, so that nothing unread is recorded."""

    @app.callback(
        Output(own.reviewed, "children"),
        Output(own.draft, "data", allow_duplicate=True),
        Output(own.confirm, "disabled"),
        Output(own.confirm, "children"),
        Output(own.result, "children", allow_duplicate=True),
        Input(own.review, "n_clicks"),
        Input(own.amount, "value"),
        Input(own.phase, "data"),
        State(own.draft, "data"),
        State(ids.UNITS, "data"),
        prevent_initial_call=True,
    )
    async def review(
        _clicks: int | None, amount: str | None, phase: str, draft: Draft, system: System
    ) -> tuple[Component | str, Draft, bool, str, str]:
        kept = {key: value for key, value in draft.items() if key in ("id", "visit", "of", "fields")}
        if not is_touched(own.review):
            return "", kept, True, "Record", ""
        filled = _filled(own, kept, with_unit(amount or "", system), phase)
        try:
            sentence = _sentence(hub, own, filled, system)
            doubt = weigh(hub, own, filled)
        except AskError as error:
            return failure(error, system), kept, True, "Record", ""
        return _review(sentence, word(doubt, system) if doubt else ""), filled, False, "Record", ""


def weigh(hub: Hub, own: ids.Amount, draft: Draft) -> Sentence | None:
    """Say at the review what is doubtful of an amount, with all that this visit moved before; None where nothing is.

    The rig weighs every amount again, and asks before it writes what is doubtful.

    Raises:
        AskError: no unit of this size takes this amount.

    """
    if not draft["mass"]:
        return None
    of = hub.marks.get(draft["of"]) if own is ids.CORRECTION else None
    out = own is ids.RECOVERED or isinstance(of, Recovered)
    added_kg, recovered_kg = (hub.visit.added_kg, hub.visit.recovered_kg) if hub.visit else (0.0, 0.0)
    if isinstance(of, Added):
        added_kg -= _stands(hub, of) or 0.0
    elif isinstance(of, Recovered):
        recovered_kg -= _stands(hub, of) or 0.0
    change_kg = mass_kg(draft["mass"]) * (-1 if out else 1)
    net_kg = added_kg - recovered_kg
    nameplate_kg = hub.about.unit.nameplate_charge_kg if hub.about else None
    why = doubtful_amount(change_kg, net_kg, recovered_kg, nameplate_kg=nameplate_kg)
    if why is None:
        return None
    said = objection(why, change_kg, net_kg=net_kg, recovered_kg=recovered_kg, nameplate_kg=nameplate_kg)
    if why is Doubtful.IMPOSSIBLE:
        raise AskError(409, str(said), Wording(word(said, "us"), word(said, "si"), said.kind, said.parts))
    return said


def _review(sentence: str, doubt: str) -> Component:
    if not doubt:
        return html.P(say("amount.touch_record", sentence=sentence))
    asked = html.P([icon("warning"), html.Span(say("amount.if_so", doubt=doubt))], className="doubt")
    return html.Div([html.P(sentence), asked])


def _filled(own: ids.Amount, kept: Draft, mass: str, phase: str) -> Draft:
    if own is ids.CORRECTION:
        return kept | {"mass": "" if phase == NOTHING_MOVED else mass}
    return kept | {"mass": mass, "phase": phase}


def _sentence(hub: Hub, own: ids.Amount, draft: Draft, system: System) -> str:
    if own is ids.CORRECTION and not draft["mass"]:
        return say("amount.nothing_moved")
    mass = wording.mass(mass_kg(draft["mass"]), system, weighed=True)
    if own is ids.CORRECTION:
        return say("amount.it_was", mass=mass)
    unit = hub.about.unit if hub.about else None
    refrigerant = unit.refrigerant if unit else "refrigerant"
    what = _moved(own, mass, refrigerant, draft["phase"])
    if own is ids.ADDED and draft["phase"] == "vapour" and unit and unit.charge_as_liquid:
        what += say("amount.liquid_only", refrigerant=refrigerant)
    return what


def _moved(own: ids.Amount, mass: str, refrigerant: str, phase: str) -> str:
    if own is ids.ADDED:
        return say("amount.added_as", mass=mass, refrigerant=refrigerant, phase=phase)
    return say("amount.recovered_as", mass=mass, refrigerant=refrigerant, phase=phase)


def offered(own: ids.Amount, offers: Sequence[Mapping[str, Any]], draft: Draft) -> list[Component]:
    """Offer by a key what a question asks for: it is kept as a finding, and the amount is reviewed again.

    What no key can answer, such as where nobody looked at each place, is said in words.
    """
    return [_offer(own, offer["says"], offer.get("body"), draft) for offer in offers]


def _offer(own: ids.Amount, says: str, body: Mapping[str, Any] | None, draft: Draft) -> Component:
    if body is None:
        return html.P(says)
    kept = attributes(
        data_finding=json.dumps({"id": new_id(), "visit": draft["visit"], **body}),
        data_then=own.review,
        data_told=own.result,
    )
    return html.Button(says, type="button", className="button offer", **kept)


def _register_record(app: Dash, hub: Hub, own: ids.Amount) -> None:
    """Record, and close the dialog; where the rig asks back, put its question and let the same button answer it."""

    @app.callback(
        output={
            "reviewed": Output(own.reviewed, "children", allow_duplicate=True),
            "draft": Output(own.draft, "data", allow_duplicate=True),
            "disabled": Output(own.confirm, "disabled", allow_duplicate=True),
            "label": Output(own.confirm, "children", allow_duplicate=True),
            "result": Output(own.result, "children", allow_duplicate=True),
            "recorded": Output(own.recorded, "data"),
            "outcome": Output(ids.OUTCOME, "children", allow_duplicate=True),
        },
        inputs={"_clicks": Input(own.confirm, "n_clicks")},
        state={"draft": State(own.draft, "data"), "system": State(ids.UNITS, "data")},
        prevent_initial_call=True,
    )
    async def record(_clicks: int, draft: Draft, system: System) -> dict[str, Any]:
        kept: dict[str, Any] = dict.fromkeys(
            ("reviewed", "draft", "disabled", "label", "result", "recorded", "outcome"), no_update
        )
        try:
            mark = await submit(hub, visitor.get(), own.kind, msgspec.convert(draft, AskBody))
        except AskQuestionError as asked:
            says = [html.P(getattr(asked.question, system)), *offered(own, asked.offers, draft)]
            question = html.Div(says, className="asked")
            yes = {"confirmed": True, "confirms": asked.asks}
            asked_back = {"reviewed": question, "draft": draft | yes, "label": say("amount.yes")}
            return kept | asked_back | {"result": ""}
        except AskError as error:
            return kept | {"result": failure(error, system)}
        what = words.mark(mark, system) if mark else own.kind
        wait = "" if own is ids.CORRECTION else say("amount.now_wait")  # on paper nothing settles
        done = success(say("amount.recorded", what=what) + wait)
        return kept | {"disabled": True, "recorded": {"dialog": own.dialog, "id": draft["id"]}, "outcome": done}
