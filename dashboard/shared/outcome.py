"""How a request came out, in a symbol and a sentence."""

from dash import html
from dash.development.base_component import Component

from calc.units import System
from dashboard.errors import AskError
from dashboard.shared.basics import icon


def success(sentence: str) -> Component:
    """Say that it is recorded."""
    return html.Span([icon("check"), html.Span(sentence)], className="outcome-good")


def failure(error: AskError, system: System = "us") -> Component:
    """Say why it is not, with its figures in one system of units."""
    said = getattr(error.wording, system) if error.wording else error.reason
    return html.Span([icon("warning"), html.Span(said)], className="outcome-bad")
