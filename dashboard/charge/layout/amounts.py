"""The dialogs of amounts: refrigerant added, recovered, or an earlier amount corrected."""

import re
from collections.abc import Sequence
from typing import NamedTuple

from dash import dcc, html
from dash.development.base_component import Component

from calc.cautions import Step, beware_at_steps
from calc.units import System
from dashboard import ids
from dashboard.sentences import say
from dashboard.shared.basics import attributes, choice, icon
from dashboard.shared.dialogs import beware, dialog
from ingest.wire.messages import UnitAbout

_TITLES = {"added": "Refrigerant added", "recovered": "Refrigerant recovered", "correction": say("amounts.correct")}
_STEPS = {"added": Step.CHARGE, "recovered": Step.RECOVER}
_MASS_UNITS = {"us": "oz", "si": "g"}
_EXAMPLES = {"us": "6 oz, or 1 lb 4 oz", "si": "170 g, or 1.2 kg"}
_BARE_NUMBER = re.compile(r"\s*\d+(?:[.,]\d*)?\s*")


class Suggestion(NamedTuple):
    """What the advice says to move next, in words; empty where it says nothing of it."""

    amount: str = ""
    phase: str = "liquid"


def amount_dialogs() -> list[Component]:
    """Lay out the three dialogs, closed. What depends on the unit is written when they open."""
    return [_dialog(own) for own in (ids.ADDED, ids.RECOVERED, ids.CORRECTION)] + [dcc.Store(id=ids.CORRECTION_OF)]


def _dialog(own: ids.Amount) -> Component:
    """Frame one: amount, state, what would be recorded, and a second touch."""
    review = html.Button("Review", id=own.review, type="button", className="button")
    confirm = html.Button("Record", id=own.confirm, type="button", className="button button-main", disabled=True)
    return dialog(
        own.dialog,
        _TITLES[own.kind],
        [
            html.Div(id=own.body, className="dialog-body", **attributes(data_made_anew="")),
            *(dcc.Store(id=store) for store in (own.draft, own.recorded, own.closed)),
            dcc.Store(id=own.phase, data="liquid"),
            html.Div(
                [
                    html.Div(id=own.reviewed, role="status", className="reviewed"),
                    html.P(id=own.result, className="result", role="status"),
                    html.Div([review, confirm], className="dialog-buttons"),
                ],
                className="dialog-foot",
            ),
        ],
    )


def amount_form(
    own: ids.Amount,
    unit: UnitAbout | None,
    system: System,
    suggestion: Suggestion,
    alarms: Sequence[str],
    *,
    found: str = "",
) -> list[Component]:
    """Ask how much, and in which state, for the refrigerant of this unit; filled in with what is advised.

    found: the safety class that the visit found in it.
    """
    refrigerant = unit.refrigerant if unit else None
    stop = [html.P(_no_more(own), className="outcome-bad")] if alarms else []
    advised = [html.P(say("amounts.advised"), className="aside")] * bool(suggestion.amount)
    return [
        *stop,
        *beware(beware_at_steps(refrigerant, (_STEPS[own.kind],), found=found)),
        *_amount(own, say("amounts.amount_of", refrigerant=refrigerant or "refrigerant"), suggestion.amount, system),
        *advised,
        choice(own.phase, "State", {"liquid": "Liquid", "vapour": "Vapour"}, suggestion.phase),
    ]


def _no_more(own: ids.Amount) -> list[Component]:
    """Say what an alarm, which stands at the head of the dialog, leaves to do here."""
    return [icon("warning"), html.Span(say("amounts.no_more" if own is ids.ADDED else "amounts.only_done"))]


def correction_form(own: ids.Amount, said: str, now: str, system: System) -> list[Component]:
    """Ask what an amount really was."""
    return [
        html.P(said),
        choice(
            own.phase,
            say("amounts.what_it_was"),
            {"amount": "Another amount", "nothing": say("amounts.nothing_was_moved")},
            "amount",
        ),
        html.Div(_amount(own, say("amounts.it_really_was"), now, system), className="really-was"),
    ]


def _amount(own: ids.Amount, label: str, value: str, system: System) -> list[Component]:
    field = dcc.Input(id=own.amount, type="text", autoComplete="off", className="field amount", value=value)
    hint = say("amounts.hint", examples=_EXAMPLES[system], unit=_MASS_UNITS[system])
    return [
        html.Label(label, htmlFor=own.amount),
        html.Div(field, className="amount-row"),
        html.P(hint, className="aside"),
    ]


def with_unit(amount: str, system: System) -> str:
    """Give a number that stands alone the unit of the page.

    >>> with_unit("6", "us"), with_unit("1 lb 4 oz", "us"), with_unit("170,5", "si")
    ('6 oz', '1 lb 4 oz', '170,5 g')
    """
    return f"{amount.strip()} {_MASS_UNITS[system]}" if _BARE_NUMBER.fullmatch(amount) else amount
