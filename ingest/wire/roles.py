"""The roles of people, and as whom a credential may ask. What each may ask stands in `ingest.wire.asks`.

Who asks is the credential: the user in the topic `ask/{user}/{kind}`, to which the broker's access list binds it. A
page asks for the people it has let in, as `{its user}:{their role}`; that role is never more than the credential's own.
"""

from collections.abc import Mapping
from typing import Literal

Role = Literal["technician", "lead"]

TECHNICIAN = frozenset[Role]({"technician"})
LEAD = frozenset[Role]({"lead"})
EVERYONE = TECHNICIAN | LEAD

WHERE_NOBODY_IS_NAMED: Mapping[str, Role] = {"technician": "technician", "lead": "lead"}
"""The users of a broker without passwords, which only this machine reaches: everybody here may say who they are."""

_BELOW: Mapping[Role, frozenset[Role]] = {"technician": EVERYONE, "lead": frozenset({"lead"})}


def speaks_for(role: Role) -> frozenset[Role]:
    """Give the roles of those for whom a credential of this role may ask.

    >>> sorted(speaks_for("technician")), sorted(speaks_for("lead"))
    (['lead', 'technician'], ['lead'])
    """
    return _BELOW[role]


def asking_as(user: str, role: Role) -> str:
    """Name who asks, as it stands in the topic. user: the page's own at the broker; empty where nobody is named.

    >>> asking_as("van-3-page", "lead"), asking_as("", "lead")
    ('van-3-page:lead', 'lead')
    """
    return f"{user}:{role}" if user else role


def role_of(asking: str, users: Mapping[str, Role]) -> Role | None:
    """Tell the role of who asks; None for somebody who is not in the table, or claims more than the table gives.

    >>> users = {"robin": "lead", "page": "technician"}
    >>> role_of("robin", users), role_of("page:lead", users), role_of("robin:technician", users), role_of("x", users)
    ('lead', 'lead', None, None)
    """
    user, _, claimed = asking.partition(":")
    own = users.get(user)
    if own is None or not claimed:
        return own
    return next((role for role in speaks_for(own) if role == claimed), None)
