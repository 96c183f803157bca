"""The smallest parts: an icon, a place that the live script fills, a choice between a few buttons."""

from collections.abc import Mapping, Sequence

from dash import html
from dash.development.base_component import Component


def icon(name: str) -> Component:
    """Draw an icon of assets/icons beside words that say the same."""
    return html.Span(className=f"icon icon-{name}", **{"aria-hidden": "true"})


def live(name: str, element: type[Component] = html.Span, *, class_name: str = "") -> Component:
    """Leave a place for the live script, which finds it by `data-live`."""
    return element(className=class_name, **{"data-live": name})


def choice(name: str, label: str, options: Mapping[str, Sequence[Component | str] | str], chosen: str) -> Component:
    """Offer a few buttons of which one is pressed; assets/controls.js moves the press and tells who listens."""
    return html.Div(
        [
            html.Button(
                content,
                type="button",
                className="choice-option",
                **{"data-value": value, "aria-pressed": "true" if value == chosen else "false"},
            )
            for value, content in options.items()
        ],
        className="choice",
        role="group",
        **{"data-choice": name, "aria-label": label},
    )


def panel(title: Component | str, children: Sequence[Component], *, class_name: str) -> Component:
    """Frame a part of the page under a heading."""
    return html.Section([html.H2(title, className="panel-title"), *children], className=f"panel {class_name}")
