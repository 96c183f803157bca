"""The page that an invitation opens. It stands alone: nothing else is served before the button is pressed."""

from html import escape

_PAGE = """<!DOCTYPE html>
<html lang="en">
<head>
<meta charset="utf-8">
<meta name="viewport" content="width=device-width, initial-scale=1">
<title>Dewline</title>
<style>
:root {{ color-scheme: light dark; }}
body {{ font: 18px/1.5 system-ui, sans-serif; margin: 0; display: grid; place-items: center; min-height: 100vh; }}
main {{ max-width: 26rem; padding: 1.5rem; }}
h1 {{ font-size: 1.6rem; line-height: 1.2; margin: 0 0 .5rem; }}
label {{ display: block; margin: 1rem 0 .25rem; font-weight: 600; }}
input, button {{ font: inherit; width: 100%; min-height: 52px; box-sizing: border-box; padding: 0 .75rem; }}
input, button {{ border-radius: 6px; }}
input {{ border: 2px solid currentColor; background: transparent; color: inherit; }}
button {{ margin-top: 1rem; border: 0; background: #14202b; color: #fff; font-weight: 700; }}
@media (prefers-color-scheme: dark) {{ button {{ background: #eef2f5; color: #10161c; }} }}
</style>
</head>
<body><main>{content}</main></body>
</html>
"""
_WELCOME = """<h1>Watch this visit as {role}</h1>
<p>{explanation} The link works once.</p>
<form method="post">
<input type="hidden" name="token" value="{token}">
<label for="name">Your name, as it will stand beside what you write</label>
<input id="name" name="name" maxlength="40" autocomplete="name" required>
<button>Open the page</button>
</form>"""
_EXPLANATIONS = {
    "lead": "You see everything live and can write notes to the technician. You cannot record anything else.",
    "technician": "You see everything live, and what you record counts as done at the unit.",
}


def door_page(*, token: str = "", role: str = "", error: str = "") -> str:
    """Write the page: the welcome for a good link, or what is wrong with it."""
    if error:
        return _PAGE.format(content=f"<h1>This link does not open</h1><p>{escape(error)}</p>")
    welcome = _WELCOME.format(role=escape(role), explanation=_EXPLANATIONS[role], token=escape(token))
    return _PAGE.format(content=welcome)
