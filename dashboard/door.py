"""The page that an invitation opens. It stands alone: nothing else is served before the button is pressed."""

from html import escape
from pathlib import Path

from dashboard.roles import PersonRole

_STYLE = (Path(__file__).parent / "door.css").read_text(encoding="utf-8")
_PAGE = """<!DOCTYPE html>
<html lang="en">
<head>
<meta charset="utf-8">
<meta name="viewport" content="width=device-width, initial-scale=1">
<title>{title}</title>
<style>{style}</style>
</head>
<body><main>{content}</main></body>
</html>
"""
_WELCOME = """<h1>{heading}</h1>
<p>{explanation} The link works once.</p>
<form method="post">
<input type="hidden" name="token" value="{token}">
<label for="name">Your name, as it will stand beside what you {do}</label>
<input id="name" name="name" maxlength="40" autocomplete="name" required>
<button>Open the page</button>
</form>"""
_INVITED: dict[PersonRole, tuple[str, str, str]] = {
    "lead": (
        "Watch this visit as lead",
        "You see everything live, write to the technician and can ask them to stop. You record nothing that was done.",
        "write",
    ),
    "technician": (
        "Work on this visit as its technician",
        "For a tablet of your own, the first or a further one. What you record here counts as done at the unit.",
        "record",
    ),
    "instructor": (
        "Watch these trainees as instructor",
        "You see everything live, as a lead does, and have hands at the simulated units as well.",
        "write or touch",
    ),
    "viewer": (
        "Watch this visit",
        "You see everything live, and record nothing.",
        "look at",
    ),
}
"""By role: what the door is headed, what it gives, and what the name will stand beside."""


def alone(title: str, content: str) -> str:
    """Write a page that stands alone: it looks as the page behind it does, and asks nothing of the server."""
    return _PAGE.format(style=_STYLE, title=escape(title), content=content)


def door_page(*, token: str = "", role: PersonRole = "viewer", error: str = "") -> str:
    """Write the page: the welcome for a good link, or what is wrong with it."""
    if error:
        return alone("Dewline", f'<h1 class="bad">This link does not open</h1><p>{escape(error)}</p>')
    heading, explanation, do = _INVITED[role]
    welcome = _WELCOME.format(heading=heading, explanation=explanation, do=do, token=escape(token))
    return alone("Dewline", welcome)
