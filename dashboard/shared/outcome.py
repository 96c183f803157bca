"""How a request came out, in a symbol and a sentence."""

from dash import html
from dash.development.base_component import Component

from dashboard.errors import AskError
from dashboard.shared.basics import icon


def success(sentence: str) -> Component:
    """Say that it is recorded."""
    return html.Span([icon("check"), html.Span(sentence)], className="outcome-good")


def failure(error: AskError) -> Component:
    """Say why it is not."""
    return html.Span([icon("warning"), html.Span(error.reason)], className="outcome-bad")
