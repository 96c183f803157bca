"""The document around a page that needs nothing of Dash in the browser: its title, its style and what makes it live."""

from dash.development.base_component import Component

from dashboard.shared.markup import markup

_FRAME = """<!DOCTYPE html>
<html lang="en">
<head>
<meta charset="utf-8">
<meta name="viewport" content="width=device-width, initial-scale=1">
<title>Dewline · {title}</title>
<link rel="icon" href="/assets/shared/browser/icons/dewline.svg">
<link rel="manifest" href="/assets/shared/browser/dewline.webmanifest" crossorigin="use-credentials">
<link rel="stylesheet" href="/assets/shared/browser/page.css">
<link rel="stylesheet" href="/assets/shared/browser/glance.css">
<link rel="stylesheet" href="/assets/{name}/browser/{name}.css">
<script src="/assets/shared/browser/theme.js"></script>
<script type="module" src="/assets/{name}/browser/{name}.js"></script>
</head>
<body>
{content}
</body>
</html>
"""


def framed(page: Component, *, name: str, title: str) -> str:
    """Write a whole document. name: of the page's room, which has its style and its script by that name."""
    return _FRAME.format(title=title, name=name, content=markup(page))
