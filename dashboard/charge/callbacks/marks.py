"""Taking a reading, writing a note, and saying that a lead's note was read.

A touch that comes twice records once: its id is made of the page's opening and of how often it was touched there.
"""

from dash import ClientsideFunction, Dash, Input, NoUpdate, Output, State, no_update
from dash.development.base_component import Component
from dash.exceptions import PreventUpdate

from dashboard import ids
from dashboard.asks import AskBody, id_of_touch, seen, submit
from dashboard.errors import AskError
from dashboard.rigs import at_hand
from dashboard.roles import visitor
from dashboard.sentences import say
from dashboard.shared.outcome import failure, success


def register(app: Dash) -> None:
    """Add the callbacks."""

    async def record(kind: str, body: AskBody, done: str) -> Component:
        try:
            await submit(at_hand(), visitor.get(), kind, body)
        except AskError as error:
            return failure(error)
        return success(done)

    @app.callback(
        Output(ids.OUTCOME, "children"),
        Input(ids.TAKE_READING, "n_clicks"),
        State(ids.OPENING, "data"),
        prevent_initial_call=True,
    )
    async def take_reading(clicks: int, opening: str) -> Component:
        body = AskBody(id_of_touch(opening, "reading", clicks), seen(at_hand()))
        return await record("reading", body, say("marks.reading_recorded"))

    @app.callback(
        Output(ids.NOTE_RESULT, "children"),
        Output(ids.NOTE_TEXT, "value"),
        Output(ids.NOTE_RECORDED, "data"),
        Output(ids.OUTCOME, "children", allow_duplicate=True),
        Input(ids.NOTE_SEND, "n_clicks"),
        State(ids.NOTE_TEXT, "value"),
        State(ids.NOTE_AT, "data"),
        State(ids.OPENING, "data"),
        prevent_initial_call=True,
    )
    async def send_note(
        clicks: int, text: str | None, about: dict[str, float] | None, opening: str
    ) -> tuple[Component | str, str, dict[str, str] | None, Component | NoUpdate]:
        try:
            fields = {"at_s": about.get("at")} if about else {}
            body = AskBody(id_of_touch(opening, "note", clicks), seen(at_hand()), text=text or "", fields=fields)
            await submit(at_hand(), visitor.get(), "note", body)
        except AskError as error:
            return failure(error), text or "", None, no_update
        return "", "", {"dialog": ids.NOTE_DIALOG}, success(say("marks.note_recorded"))

    app.clientside_callback(  # type: ignore[no-untyped-call] # Dash has no types for it
        ClientsideFunction("page", "closeDialog"),
        Output(ids.NOTE_CLOSED, "data"),
        Input(ids.NOTE_RECORDED, "data"),
        prevent_initial_call=True,
    )

    @app.callback(
        Output(ids.OUTCOME, "children", allow_duplicate=True),
        Input(ids.NOTE_READ, "data"),
        prevent_initial_call=True,
    )
    async def acknowledge(note_id: str | None) -> Component:
        """Say that a note was read: the one that stood there when it was touched, whatever stands there by now."""
        if note_id is None:
            raise PreventUpdate
        return await record("acknowledge", AskBody(id=f"{note_id[:58]}-read", of=note_id), say("marks.note_read"))
