"""The smallest parts: an icon, a place that the live script fills, a choice between a few buttons."""

from collections.abc import Mapping, Sequence
from typing import Any

from dash import html
from dash.development.base_component import Component

Content = Component | str | Sequence[Component | str]


def attributes(**named: str) -> dict[str, Any]:
    """Spell HTML attributes whose names have a hyphen: `data_live="tag"` becomes `data-live`."""
    return {name.replace("_", "-"): value for name, value in named.items()}


def icon(name: str) -> Component:
    """Draw an icon of shared/browser/icons beside words that say the same."""
    return html.Span(className=f"icon icon-{name}", **attributes(aria_hidden="true"))


def live(name: str, element: type[Component] = html.Span, *, class_name: str = "") -> Component:
    """Leave a place for the live script, which finds it by `data-live`."""
    return element(className=class_name, **attributes(data_live=name))


def choice(name: str, label: str, options: Mapping[str, Content], chosen: str) -> Component:
    """Offer a few buttons of which one is pressed; shared/browser/controls.js moves the press and tells who listens."""
    return html.Div(
        [_option(value, content, pressed=value == chosen) for value, content in options.items()],
        className="choice",
        role="group",
        **attributes(data_choice=name, aria_label=label),
    )


def _option(value: str, content: Content, *, pressed: bool) -> Component:
    state = attributes(data_value=value, aria_pressed="true" if pressed else "false")
    return html.Button(content, type="button", className="choice-option", **state)


def panel(title: Content, children: Sequence[Component], *, class_name: str) -> Component:
    """Frame a part of the page under a heading."""
    return html.Section([html.H2(title, className="panel-title"), *children], className=f"panel {class_name}")
