"""Who may do what. A technician acts at the unit; a lead elsewhere watches and may write a note.

An instructor is a lead over a class, and has hands at its simulated units as well. A viewer, who may be the owner of
the unit or somebody at an office, sees one rig and says nothing. A rig knows neither: what an instructor asks, a lead
asks.
"""

import re
from collections.abc import Mapping
from contextvars import ContextVar
from typing import Literal

import msgspec

from ingest.wire.asks import MAY_ASK
from ingest.wire.messages import Role
from ingest.wire.photographs import LARGEST_PHOTOGRAPH_BYTES

LARGEST_REQUEST_BYTES = 64 * 1024
"""Of any but a photograph."""

PersonRole = Literal["technician", "lead", "instructor", "viewer"]

ASKS_AS: Mapping[PersonRole, Role | None] = {
    "technician": "technician",
    "lead": "lead",
    "instructor": "lead",
    "viewer": None,
}
"""As whom a person of each role asks the rig; None for one who asks nothing."""

TECHNICIAN = frozenset[PersonRole]({"technician"})
WATCHES = frozenset[PersonRole]({"lead", "instructor"})
"""Who looks at all rigs that the broker shows to this page."""
EVERYONE = frozenset[PersonRole](ASKS_AS)

MAY_INVITE = TECHNICIAN
"""Who lets people in, sees who has access, and ends it."""
MAY_COMMIT = TECHNICIAN
"""Who gives the verdict that ends an exercise on the bench."""
MAY_TOUCH = frozenset[PersonRole]({"technician", "instructor"})
"""Who has hands at a simulated unit."""


class Visitor(msgspec.Struct, frozen=True):
    """Who is looking at the page."""

    role: PersonRole
    name: str

    @property
    def asks_as(self) -> Role | None:
        """As whom the rig is asked; None for somebody who asks nothing."""
        return ASKS_AS[self.role]

    @property
    def side(self) -> str:
        """On whose side a page is laid out: a technician's, a lead's, or that of somebody who only sees."""
        return self.asks_as or self.role

    def may(self, kind: str) -> bool:
        """Whether they may ask this of the rig, by its word."""
        return self.role in who_may(kind)


def who_may(kind: str) -> frozenset[PersonRole]:
    """Give the roles of people who may ask this of a rig, by its word."""
    return frozenset(person for person, role in ASKS_AS.items() if role in MAY_ASK[kind])


def may_not(role: PersonRole) -> str:
    """Say to somebody that what they asked for is another role's."""
    match role:
        case "viewer":
            return "A viewer sees the visit, and records nothing."
        case "technician":
            return "A technician acts at the unit; only a lead does that."
    return "A lead watches; only the technician at the unit does that."


class Rule(msgspec.Struct, frozen=True):
    """A route of the page and who may use it. What no rule names is refused. largest_bytes: of a request."""

    method: str
    pattern: str
    roles: frozenset[PersonRole]
    largest_bytes: int = LARGEST_REQUEST_BYTES

    def covers(self, method: str, path: str) -> bool:
        """Whether a request falls under this rule."""
        return method == self.method and re.fullmatch(self.pattern, path) is not None


PEOPLE = "/people"
"""Who has access to this page, and how it is ended."""

_AT_ONE_RIG: tuple[Rule, ...] = (
    Rule("GET", "/", EVERYONE),
    Rule("GET", "/visit", EVERYONE),
    Rule("GET", "/unit", EVERYONE),
    Rule("GET", "/service_worker.js", EVERYONE),
    Rule("GET", "/_dash-layout", EVERYONE),
    Rule("GET", "/_dash-dependencies", EVERYONE),
    Rule("GET", "/_dash-component-suites/[^/]+/.+", EVERYONE),
    Rule("POST", "/_dash-update-component", EVERYONE),
    Rule("GET", "/assets/.+", EVERYONE),
    Rule("GET", "/api/stream", EVERYONE),
    Rule("GET", "/api/history", EVERYONE),
    *(Rule("POST", f"/api/ask/{kind}", who_may(kind)) for kind in MAY_ASK),
    Rule("POST", "/api/photograph", TECHNICIAN, LARGEST_PHOTOGRAPH_BYTES),
    Rule("GET", "/photograph/[A-Za-z0-9_-]{1,64}", EVERYONE),
    Rule("GET", r"/report/[A-Za-z0-9_-]{1,64}\.(pdf|html)", EVERYONE),
    Rule("POST", "/api/bench/act", MAY_TOUCH),
)

_ANY_RIG = "/rig/[A-Za-z0-9][A-Za-z0-9_-]{0,62}"
OF_A_RIG = "/rig/(?P<rig>[A-Za-z0-9][A-Za-z0-9_-]{0,62})(?P<path>/.*)"
"""A path that is for a rig by its name, and what it asks of that rig."""

RULES: tuple[Rule, ...] = (
    *_AT_ONE_RIG,
    Rule("GET", PEOPLE, MAY_INVITE),
    Rule("POST", PEOPLE, MAY_INVITE),
    Rule("GET", "/watch", WATCHES),
    Rule("GET", "/api/watch", WATCHES),
    *(
        Rule(rule.method, f"{_ANY_RIG}{rule.pattern}", rule.roles & WATCHES, rule.largest_bytes)
        for rule in _AT_ONE_RIG
        if rule.roles & WATCHES
    ),
)
"""A lead looks at any rig by its name. A technician acts at the page's own, so that no touch goes to another."""

JOIN = "/join"
"""The one path that serves strangers, and only those who hold a valid invitation."""

ENTER = "/enter"
"""Where somebody who has an account comes in by name and password; open to strangers likewise."""

LEAVE = "/leave"
"""Gives a login back. Anybody may: it takes nothing but the visitor's own."""

_NOBODY = Visitor("viewer", "")
visitor: ContextVar[Visitor] = ContextVar("visitor", default=_NOBODY)
"""Who made the request at hand; outside a request, the one who may do least."""
