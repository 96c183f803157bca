"""Making a link for a lead."""

import segno
from dash import Dash, Input, Output, html
from dash.development.base_component import Component

from dashboard import ids
from dashboard.invitations import INVITATION_LIFETIME_S, Doorkeeper, invitation_url, reaches_others
from dashboard.roles import MAY_INVITE, visitor
from dashboard.sentences import say
from dashboard.settings import Settings
from dashboard.shared.basics import attributes

_ONLY_HERE = say("invite.own_machine_only")


def register(app: Dash, settings: Settings, doorkeeper: Doorkeeper) -> None:
    """Add the callback."""

    @app.callback(Output(ids.INVITE_RESULT, "children"), Input(ids.INVITE_OPEN, "n_clicks"), prevent_initial_call=True)
    async def invite(_clicks: int) -> list[Component]:
        if visitor.get().role not in MAY_INVITE:
            return [html.P(say("invite.technician_only"))]
        return _link(invitation_url(settings, doorkeeper.invite("lead")), only_here=not reaches_others(settings))


def _square(url: str) -> str:
    """Draw the link, for the camera of whoever stands beside."""
    return segno.make(url, error="m", micro=False).svg_data_uri(scale=4)


def _link(url: str, *, only_here: bool) -> list[Component]:
    copy = html.Button("Copy", type="button", className="button button-main", **attributes(data_copies="lead"))
    return [
        html.Code(url, className="link", **attributes(data_link="lead")),
        html.Div([copy], className="dialog-buttons"),
        html.Img(src=_square(url), alt="", className="link-code"),
        html.P(say("invite.works_once", minutes=INVITATION_LIFETIME_S // 60)),
        *([html.P(_ONLY_HERE, className="aside")] if only_here else []),
    ]
