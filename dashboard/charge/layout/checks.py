"""The dialog in which a technician checks an instrument: which check, of which channel, and the steps to do first."""

from collections.abc import Mapping, Sequence
from typing import NamedTuple, get_args

from dash import dcc, html
from dash.development.base_component import Component

from calc.cautions import Step, cautions
from calc.quantities import CHANNELS, Quantity
from dashboard import ids, words
from dashboard.sentences import say
from dashboard.shared.basics import choice
from dashboard.shared.dialogs import dialog, warnings
from ingest.wire.messages import About, CheckKind


class Guide(NamedTuple):
    """How a check is done. quantity, ending: what it is for, and how the names of those channels end."""

    title: str
    quantity: Quantity
    steps: Sequence[str]
    beware: Sequence[str] = ()
    ending: str = ""


_WAIT = say("checks.wait")

GUIDES: Mapping[CheckKind, Guide] = {
    "open_to_air": Guide(
        say("checks.open_to_air"),
        Quantity.PRESSURE,
        (
            say("checks.close_valve"),
            say("checks.straight_on_the_port"),
            say("checks.empty_hose"),
            say("checks.seen_by_another_gauge"),
            say("checks.no_other_gauge"),
            say("checks.no_vacuum"),
            say("checks.probe_off"),
            _WAIT,
        ),
    ),
    "ice_point": Guide(
        "Ice",
        Quantity.TEMPERATURE,
        (
            say("checks.fill_cup"),
            say("checks.clamp_in_ice"),
            _WAIT,
        ),
        (say("checks.mind_maker"),),
    ),
    "one_pipe": Guide(
        say("checks.two_on_one_pipe"),
        Quantity.TEMPERATURE,
        (
            say("checks.side_by_side"),
            say("checks.cover_both"),
            _WAIT,
        ),
        (say("checks.burns"),),
        ending="_line_temperature",
    ),
    "closed_jaw": Guide(
        say("checks.jaw_on_nothing"),
        Quantity.CURRENT,
        (
            say("checks.jaw_off"),
            say("checks.meter_zero"),
            _WAIT,
        ),
        (say("checks.live_parts"),),
    ),
}
"""The checks that need no laboratory: common practice, no source. That against a better instrument has no guide."""

_NO_HOSE = frozenset({"barometric_pressure", "vacuum_pressure"})
"""Pressures for which the air is no reference: one is the air, the other's gauge ends far below it."""

ASKED_FIRST: CheckKind = "open_to_air"


def check_dialog() -> Component:
    """Frame the check: what it needs is written when it opens, and correcting takes a second touch."""
    start = html.Button("Check", id=ids.CHECK_START, type="button", className="button")
    confirm = html.Button(say("checks.confirm"), id=ids.CHECK_CONFIRM, type="button", className="button", hidden=True)
    correct = html.Button("Correct", id=ids.CHECK_CORRECT, type="button", className="button button-main", disabled=True)
    titles = {kind: GUIDES[kind].title for kind in get_args(CheckKind) if kind in GUIDES}
    return dialog(
        ids.CHECK_DIALOG,
        say("checks.title"),
        [
            choice(ids.CHECK_KIND, "Check", titles, ASKED_FIRST),
            html.Div(id=ids.CHECK_FORM, className="dialog-body"),
            dcc.Store(id=ids.CHECK_KIND, data=ASKED_FIRST),
            *(dcc.Store(id=store) for store in (ids.CHECK_CHANNEL, ids.CHECK_OTHER, ids.CHECK_DRAFT, ids.CHECK_ASKED)),
            html.Div(
                [
                    html.Div(id=ids.CHECK_FOUND, role="status", className="reviewed"),
                    html.P(id=ids.CHECK_RESULT, className="result", role="status"),
                    html.Div([start, confirm, correct], className="dialog-buttons"),
                ],
                className="dialog-foot",
            ),
        ],
    )


def candidates(kind: CheckKind, about: About | None) -> list[str]:
    """Name the channels of a rig that a check is for."""
    guide = GUIDES[kind]
    names = [channel.name for channel in about.channels] if about else []
    fitting = [name for name in names if CHANNELS.get(name) is guide.quantity and name.endswith(guide.ending)]
    return [name for name in fitting if name not in _NO_HOSE]


def check_form(kind: CheckKind, about: About | None, found: str = "") -> list[Component]:
    """Ask which channel, and say what to do and to beware of. found: the safety class that the visit found in it."""
    guide, names = GUIDES[kind], candidates(kind, about)
    if len(names) < (2 if kind == "one_pipe" else 1):
        return [html.P(say("checks.no_instrument"))]
    opens_hose = kind == "open_to_air"
    refrigerant = about.unit.refrigerant if about else None
    beware = [*guide.beware, *(cautions(refrigerant, Step.DISCONNECT, found=found) if opens_hose else ())]
    options = {name: words.channel(name) for name in names}
    others = [choice(ids.CHECK_OTHER, "Compared with", options, names[1])] if kind == "one_pipe" else []
    simulated = [html.P(say("checks.simulated"))] if about and about.simulated else []
    return [
        *simulated,
        choice(ids.CHECK_CHANNEL, "Which instrument", options, names[0]),
        *([html.P("Compared with"), *others] if others else []),
        warnings(beware),
        html.Ol([html.Li(step) for step in guide.steps], className="steps"),
    ]
