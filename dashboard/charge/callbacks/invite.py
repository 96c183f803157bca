"""Making a link for a lead."""

from dash import Dash, Input, Output, html
from dash.development.base_component import Component

from dashboard import ids
from dashboard.invitations import INVITATION_LIFETIME_S, Doorkeeper, invitation_url, reaches_others
from dashboard.roles import MAY_INVITE, visitor
from dashboard.settings import Settings
from dashboard.shared.basics import attributes

_ONLY_HERE = (
    "This page listens on this machine only, so the link opens nowhere else. "
    "Start the dashboard with --host, --certificate and --key to let others in."
)


def register(app: Dash, settings: Settings, doorkeeper: Doorkeeper) -> None:
    """Add the callback."""

    @app.callback(Output(ids.INVITE_RESULT, "children"), Input(ids.INVITE_OPEN, "n_clicks"), prevent_initial_call=True)
    async def invite(_clicks: int) -> list[Component]:
        if visitor.get().role not in MAY_INVITE:
            return [html.P("Only the technician at the unit invites.")]
        return _link(invitation_url(settings, doorkeeper.invite("lead")), only_here=not reaches_others(settings))


def _link(url: str, *, only_here: bool) -> list[Component]:
    copy = html.Button("Copy", type="button", className="button button-main", **attributes(data_copies="lead"))
    return [
        html.Code(url, className="link", **attributes(data_link="lead")),
        html.Div([copy], className="dialog-buttons"),
        html.P(f"It works once, within {INVITATION_LIFETIME_S // 60} minutes."),
        *([html.P(_ONLY_HERE, className="aside")] if only_here else []),
    ]
