"""The Charge page: stand, watch, add a little, wait, look again."""

from dash import dcc, html
from dash.development.base_component import Component

from dashboard import ids
from dashboard.asks import new_id
from dashboard.charge.layout.actions import actions
from dashboard.charge.layout.advice import beware, lead_note, log, sentence
from dashboard.charge.layout.amounts import amount_dialogs
from dashboard.charge.layout.checks import check_dialog
from dashboard.charge.layout.figures import amps, instruments, ruler, traces
from dashboard.charge.layout.header import header
from dashboard.charge.layout.opinion import causes, data_alarm, stops
from dashboard.roles import MAY_TOUCH, Visitor
from dashboard.shared.basics import attributes
from dashboard.shared.dialogs import dialogs
from dashboard.shared.glance import glance
from dashboard.shared.screen_and_sound import screen_and_sound_dialog
from dashboard.shared.stop import standing_bar, stop_of_a_lead
from dashboard.training.layout import bench_panel, hands_dialog, verdict_dialog


def charge_page(visitor: Visitor) -> Component:
    """Lay out the page for a technician or, without the means to act, for a lead."""
    acts = visitor.may("added")
    return html.Div(
        [
            dcc.Store(id=ids.UNITS, data="us"),
            dcc.Store(id=ids.OPENING, data=new_id()),
            *(dcc.Store(id=store) for store in (ids.NOTE_RECORDED, ids.NOTE_CLOSED, ids.NOTE_AT)),
            dcc.Store(id=ids.NOTE_READ),
            header(visitor),
            html.Div([data_alarm(), stops(), standing_bar(visitor)], className="alarms"),
            html.Main(
                [
                    html.Div(
                        [
                            html.Div(
                                [bench_panel(), lead_note(visitor), sentence(visitor), causes(), beware()],
                                className="column column-advice",
                            ),
                            html.Div([log(), instruments(visitor)], className="column column-rest"),
                        ],
                        className="side",
                    ),
                    html.Div([ruler(), traces(), amps()], className="column column-figures"),
                ],
                className="grid",
            ),
            actions(visitor),
            *([*amount_dialogs(), *dialogs(), check_dialog(), stop_of_a_lead()] if acts else []),
            *([hands_dialog()] if visitor.role in MAY_TOUCH else []),
            verdict_dialog(visitor),
            glance(),
            screen_and_sound_dialog(),
            html.P(className="unseen", **attributes(data_live="summary", aria_live="polite")),
        ],
        id="page",
        className="page",
        **attributes(data_role=visitor.side),
    )
