"""The dialogs: refrigerant added or recovered, a note, an invitation."""

from dash import dcc, html
from dash.development.base_component import Component

from dashboard import ids
from dashboard.components.basics import choice, icon
from dashboard.components.cautions import cautions
from ingest.messages import UnitAbout

_TITLES = {"added": "Refrigerant added", "recovered": "Refrigerant recovered"}
MASS_UNITS = {"us": "oz", "si": "g"}


def dialogs() -> list[Component]:
    """Lay out every dialog, closed. Their contents are written when they open."""
    return [amount_dialog(ids.ADDED, "added"), amount_dialog(ids.RECOVERED, "recovered"), note_dialog(), invite_dialog()]


def amount_dialog(own: ids.Amount, kind: str) -> Component:
    """Frame the record of refrigerant moved: amount, state, a look at what will be recorded, and a second touch."""
    return _dialog(
        own.dialog,
        _TITLES[kind],
        [
            html.Div(id=own.body, className="dialog-body"),
            dcc.Store(id=own.draft),
            dcc.Store(id=own.phase, data="liquid"),
            html.Div(id=own.reviewed, role="status", className="reviewed"),
            html.Div(
                [
                    html.Button("Review", id=own.review, type="button", className="button"),
                    html.Button("Record", id=own.confirm, type="button", className="button button-main", disabled=True),
                ],
                className="dialog-buttons",
            ),
            html.P(id=own.result, className="result", role="status"),
        ],
    )


def amount_form(own: ids.Amount, kind: str, unit: UnitAbout | None, system: str) -> list[Component]:
    """Ask how much, and in which state, for the refrigerant of this unit."""
    mass_unit = MASS_UNITS[system]
    as_liquid = kind == "added" and (unit is None or unit.charge_as_liquid)
    return [
        html.Ul([html.Li([icon("warning"), html.Span(text)]) for text in cautions(kind, unit)], className="cautions"),
        html.Label(f"Amount of {unit.refrigerant if unit else 'refrigerant'}", htmlFor=own.amount),
        html.Div(
            [
                dcc.Input(id=own.amount, type="text", inputMode="decimal", autoComplete="off", className="field amount"),
                html.Span(mass_unit, className="amount-unit"),
            ],
            className="amount-row",
        ),
        choice(own.phase, "State", {"liquid": "Liquid", "vapour": "Vapour"}, "liquid"),
        *(_liquid_only(unit) if unit is not None and as_liquid else []),
    ]


def _liquid_only(unit: UnitAbout) -> list[Component]:
    return [
        html.P(
            f"{unit.refrigerant} leaves the cylinder as liquid: as vapour its composition would change. Meter it slowly "
            "into the suction side, so that it flashes before the compressor.",
            className="liquid-only",
        )
    ]


def note_dialog() -> Component:
    """Ask for a note."""
    return _dialog(
        ids.NOTE_DIALOG,
        "Note on this visit",
        [
            html.Label("What should stay with this visit?", htmlFor=ids.NOTE_TEXT),
            dcc.Textarea(id=ids.NOTE_TEXT, className="field note-field", maxLength=500),
            html.Div(
                [html.Button("Save note", id=ids.NOTE_SEND, type="button", className="button button-main")],
                className="dialog-buttons",
            ),
            html.P(id=ids.NOTE_RESULT, className="result", role="status"),
        ],
    )


def invite_dialog() -> Component:
    """Show a link for a lead."""
    return _dialog(
        ids.INVITE_DIALOG,
        "Invite a lead",
        [
            html.P("Whoever opens this link watches this visit and can write you notes. They cannot record anything else."),
            html.Div(id=ids.INVITE_RESULT, role="status"),
        ],
    )


def _dialog(dialog_id: str, title: str, content: list[Component]) -> Component:
    title_id = f"{dialog_id}-title"
    close = html.Button(
        icon("close"), type="button", className="button button-quiet dialog-close",
        **{"data-closes": dialog_id, "aria-label": "Close"},
    )  # fmt: skip
    return html.Dialog(
        [html.Div([html.H2(title, id=title_id), close], className="dialog-head"), *content],
        id=dialog_id,
        className="dialog",
        **{"aria-labelledby": title_id},
    )
