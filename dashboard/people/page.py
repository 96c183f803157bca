"""The pages of who has access: the list for the technician at the unit, and the door for who has a password.

Both stand alone, as the door of a link does: forms alone, so that they work where scripts do not.
"""

import time
from collections.abc import Collection, Sequence
from html import escape

import segno

from dashboard.door import alone
from dashboard.invitations import INVITATION_LIFETIME_S, LOGIN_LIFETIME_S, Entered
from dashboard.people.accounts import Account
from dashboard.roles import ASKS_AS, ENTER, PEOPLE, PersonRole
from dashboard.sentences import say

ROLES: dict[PersonRole, str] = {
    "technician": say("people.technician"),
    "lead": say("people.lead"),
    "instructor": say("people.instructor"),
    "viewer": say("people.viewer"),
}
"""What each role gives, in words."""


def people_page(
    accounts: Sequence[Account],
    entered: Sequence[Entered],
    *,
    looking: Collection[str],
    link: str = "",
    only_here: bool = False,
    told: str = "",
) -> str:
    """Write who has access. looking: who has a page open now. link: that was just made. told: what was just done."""
    parts = [f"<h1>{say('people.title')}</h1>", f'<p><a href="./">{say("people.back")}</a></p>']
    parts += [f'<p role="status"><strong>{escape(told)}</strong></p>'] if told else []
    parts += [_link(link, only_here=only_here)] if link else []
    parts += [_came_in(entered, looking), _accounts(accounts), _invite()]
    return alone(say("people.title"), "\n".join(parts))


def enter_page(*, error: str = "") -> str:
    """Write the door for who has a name and a password."""
    wrong = f'<p class="bad" role="alert">{escape(error)}</p>' if error else ""
    return alone(
        say("people.enter"),
        f"""<h1>{say("people.enter")}</h1>{wrong}
<form method="post" action="{ENTER}">
<label for="name">{say("people.name")}</label>
<input id="name" name="name" maxlength="40" autocomplete="username" required>
<label for="password">{say("people.password")}</label>
<input id="password" name="password" type="password" maxlength="128" autocomplete="current-password" required>
<button>{say("people.open")}</button>
</form>
<p class="aside">{say("people.no_password")}</p>""",
    )


def _came_in(entered: Sequence[Entered], looking: Collection[str]) -> str:
    if not entered:
        return f"<h2>{say('people.in')}</h2><p>{say('people.nobody')}</p>"
    rows = "".join(_row(it.name, it.role, _how(it, looking), "end", say("people.end")) for it in entered)
    return f'<h2>{say("people.in")}</h2><ul class="people">{rows}</ul>'


def _how(it: Entered, looking: Collection[str]) -> str:
    by = say("people.by_link") if it.by == "link" else say("people.by_password")
    until = time.strftime("%H:%M", time.localtime(it.time_s + LOGIN_LIFETIME_S))
    now = say("people.looking") if it.name in looking else say("people.not_looking")
    return say("people.how", by=by, until=until, now=now)


def _accounts(accounts: Sequence[Account]) -> str:
    head = f"<h2>{say('people.accounts')}</h2>"
    if not accounts:
        return f"{head}<p>{say('people.no_accounts')}</p>"
    rows = "".join(_row(it.name, it.role, ROLES[it.role], "remove", say("people.remove")) for it in accounts)
    return f'{head}<ul class="people">{rows}</ul>'


def _row(name: str, role: str, says: str, act: str, key: str) -> str:
    hidden = f'<input type="hidden" name="act" value="{act}"><input type="hidden" name="name" value="{escape(name)}">'
    label = escape(say("people.of", does=key, name=name))
    return (
        f"<li><div><strong>{escape(name)}</strong>, {escape(role)}<br><small>{escape(says)}</small></div>"
        f'<form method="post" action="{PEOPLE}">{hidden}<button aria-label="{label}">{escape(key)}</button></form></li>'
    )


def _invite() -> str:
    usual: PersonRole = "lead"
    choices = "".join(
        f'<label class="choice"><input type="radio" name="role" value="{role}"{" checked" * (role == usual)}>'
        f"<span>{escape(role)}<br><small>{escape(ROLES[role])}</small></span></label>"
        for role in ASKS_AS
    )
    return (
        f'<h2>{say("people.invite")}</h2><form method="post" action="{PEOPLE}">'
        f'<input type="hidden" name="act" value="link"><fieldset><legend class="unseen">{say("people.role")}</legend>'
        f"{choices}</fieldset><button>{say('people.make_link')}</button></form>"
    )


def _link(link: str, *, only_here: bool) -> str:
    code = segno.make(link, error="m", micro=False).svg_inline(omitsize=True, svgclass="code", lineclass=None)
    here = f"<p>{say('invite.own_machine_only')}</p>" if only_here else ""
    once = say("invite.works_once", minutes=INVITATION_LIFETIME_S // 60)
    return f'<div class="link">{code}<p><code>{escape(link)}</code></p><p>{once}</p>{here}</div>'
