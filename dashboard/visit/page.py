"""The Visit page as it is served: the frame, which visit/browser/visit.js fills from the stream.

It is for one hand in a glove: what is touched most lies along the bottom, and no key is smaller than a thumb.
"""

from dash import html
from dash.development.base_component import Component

from dashboard import ids
from dashboard.roles import MAY_TOUCH, Visitor
from dashboard.sentences import say
from dashboard.shared.basics import attributes, choice, icon, live
from dashboard.shared.frame import framed
from dashboard.shared.glance import glance, glance_opener
from dashboard.shared.navigation import navigation
from dashboard.shared.screen_and_sound import screen_and_sound_dialog, screen_and_sound_opener
from dashboard.shared.stop import standing_bar, stop_of_a_lead
from ingest.wire.asks import MAY_ASK


def visit_page(visitor: Visitor) -> str:
    """Write the page for a visitor. It says what they may ask; the gate and the rig refuse the rest all the same."""
    may = " ".join(kind for kind in MAY_ASK if visitor.may(kind))
    page = html.Div(
        [
            _header(visitor),
            html.Div([_data_alarm(), _stops(), standing_bar(visitor)], className="alarms"),
            html.Main([_left(), _right()], className="visit-grid"),
            _thumb(),
            _asking(),
            stop_of_a_lead(),
            _sheet(),
            glance(),
            screen_and_sound_dialog(),
            html.P(className="unseen", **attributes(data_live="summary", aria_live="polite")),
        ],
        id="page",
        className="page visit",
        **attributes(data_role=visitor.side, data_may=may, data_name=visitor.name),
    )
    return framed(page, name="visit", title="Visit")


def _header(visitor: Visitor) -> Component:
    return html.Header(
        [
            html.Div(
                [
                    live("tag", html.H1),
                    html.Span(say("visit.simulated"), className="bench", hidden=True, **attributes(data_live="bench")),
                    html.Span(say("visit.played"), className="bench", hidden=True, **attributes(data_live="played")),
                    *_watching(visitor),
                    live("place", html.P),
                    live("circuit", html.P, class_name="circuit"),
                ],
                className="unit",
            ),
            html.Div(
                [live("who"), live("saved", class_name="fact status")],
                className="facts-block",
            ),
            navigation("visit", visitor, glance_opener(), *_hands(visitor)),
        ],
        className="top",
    )


def _hands(visitor: Visitor) -> list[Component]:
    """Lead to the controls at a simulated unit, which stand on the other page: not everybody has hands there."""
    if visitor.role not in MAY_TOUCH:
        return []
    where, looks, shown = f"./#{ids.AT_THE_UNIT}", "button button-quiet", attributes(data_live="hands-offer")
    return [html.A(say("hands.open"), href=where, hidden=True, className=looks, **shown)]


def _watching(visitor: Visitor) -> list[Component]:
    if visitor.role == "technician":
        return []
    return [html.Span([icon("note"), f" {visitor.name or 'You'}, {visitor.role}", live("lag")], className="role")]


def _units() -> Component:
    return choice("units", "Units", {"us": "°F psi", "si": "°C kPa"}, "us")


def _data_alarm() -> Component:
    return html.Div(className="alarm", role="alert", **attributes(data_live="alarm", aria_label="Data"))


def _stops() -> Component:
    return html.Div(className="stops", role="alert", **attributes(data_live="stops", aria_label="Stop"))


def _left() -> Component:
    """Leave the places of what people want of each other, and of the check that is open."""
    return html.Div(
        [
            live("talk", html.Section, class_name="talk"),
            html.Details(
                [html.Summary(live("talk-more")), live("talk-others", html.Div, class_name="talk")],
                className="panel talk-rest",
                hidden=True,
                **attributes(data_live="talk-rest"),
            ),
            live("gathered", html.Section, class_name="panel gathered-panel"),
            html.Section(
                [
                    html.H2(say("visit.judge_says"), className="panel-title"),
                    live("order", html.P, class_name="card-says"),
                    html.P(
                        [
                            say("visit.charge_asked"),
                            " ",
                            html.A(say("visit.to_charge"), href="./", className="button key"),
                        ],
                        className="card-says",
                        hidden=True,
                        **attributes(data_live="charge-asked"),
                    ),
                    live("leaving", html.Div),
                ],
                className="panel check",
                hidden=True,
                **attributes(data_live="order-panel"),
            ),
            _panel("check"),
            *map(_round, ("round", "round-after", "round-last")),
            _panel("closing"),
            _report(),
        ],
        className="column",
    )


def _panel(name: str) -> Component:
    return html.Section([live(name, html.Div)], className="panel check", **attributes(data_live=f"{name}-panel"))


def _round(name: str) -> Component:
    """Leave the place of a list of checks: one of a later group than is in hand is folded under the group's name."""
    return html.Details(
        [html.Summary(live(f"{name}-name"), className="later-name"), live(name, html.Div)],
        className="panel check",
        **attributes(data_live=f"{name}-panel"),
    )


def _right() -> Component:
    """Leave the place of the work card: every check by its group, and what became of it."""
    return html.Div(
        [
            html.Section(
                [
                    html.H2(say("visit.work_card"), className="panel-title"),
                    live("groups", html.Div, class_name="groups"),
                ],
                className="panel work",
            ),
            html.Div([_units(), screen_and_sound_opener()], className="switches"),
        ],
        className="column",
    )


def _report() -> Component:
    """Leave the place of the visit's report: its links open it in a page of its own, as soon as it is made."""
    links = [
        html.A(says, target="_blank", className="button key", **attributes(data_form=form))
        for form, says in (("pdf", say("report.pdf")), ("html", say("report.html")))
    ]
    return html.Section(
        [
            html.H2(say("report.title"), className="panel-title"),
            html.P(say("report.draft"), className="aside", **attributes(data_stands="draft")),
            html.P(say("report.signed"), className="aside", hidden=True, **attributes(data_stands="signed")),
            html.Div(links, className="card-keys"),
            html.P(say("report.making"), role="status", className="aside", hidden=True, **attributes(data_making="")),
        ],
        className="panel report",
        hidden=True,
        **attributes(data_live="report"),
    )


def _thumb() -> Component:
    """Leave the bottom edge: what the rig proposes, what came of a touch, and the keys that are always there."""
    return html.Footer(
        [
            live("proposals", html.Section, class_name="proposals"),
            html.P(className="outcome", role="status", **attributes(data_live="outcome")),
            live("keys", html.Div, class_name="actions-row"),
        ],
        className="actions thumb",
    )


def _asking() -> Component:
    """Leave the place of a question that the rig puts before it records. No answer to it is the advised one."""
    return html.Dialog(
        [
            html.H2(say("visit.rig_asks"), id="asking-title"),
            html.P(id="asking-question", className="asking-question"),
            html.Div(id="asking-offers", className="card-keys"),
            html.Div(
                [
                    html.Button(say("visit.no"), id="asking-no", type="button", className="button"),
                    html.Button(say("visit.yes"), id="asking-yes", type="button", className="button"),
                ],
                className="dialog-buttons",
            ),
        ],
        id="asking",
        className="dialog",
        **attributes(aria_labelledby="asking-title"),
    )


def _sheet() -> Component:
    """Leave the place of a form that is opened by a key of the bottom edge."""
    looks = "button button-quiet dialog-close"
    close = html.Button(
        icon("close"), type="button", className=looks, id="sheet-close", **attributes(aria_label="Close")
    )
    return html.Dialog(
        [
            html.Div([live("sheet-title", html.H2), close], className="dialog-head"),
            live("sheet", html.Div, class_name="dialog-body"),
        ],
        id="sheet",
        className="dialog",
        **attributes(aria_label=say("visit.form")),
    )
