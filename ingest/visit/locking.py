"""The lock of a visit, by all that was said of it: a lock that somebody named stands, whatever its check came to."""

from collections.abc import Mapping

from ingest.wire.messages import Finding, LockStands
from ingest.wire.texts import same_name

_ISOLATE, _POWER_BACK = "isolate", "power_back"
_ON, _OFF = frozenset({"locked_by_me", "locked_by_other"}), frozenset({"open", "closed"})
_NOBODY = frozenset({"", "technician", "the technician", "apprentice", "lead", "me", "myself", "i", "us", "we", "user"})
"""What names a role and no person: who reads it at the lock would not know whom to ask."""


def is_nobody(name: str) -> bool:
    """Tell whether a name is nobody's."""
    return name.strip().casefold() in _NOBODY


def lock_after(found: Finding, before: LockStands | None) -> LockStands | None:
    """Tell of the lock once a check was found; None where none stands."""
    if found.check == _POWER_BACK and before is not None and before.by:
        return None if same_name(found.choices.get("lock_removed_by", ""), before.by) else before
    if found.check != _ISOLATE:
        return before
    if said := _said_on(found.choices, found.by):
        return said
    return None if found.choices.get("disconnect_state") in _OFF else before


def _said_on(choices: Mapping[str, str], said_by: str) -> LockStands | None:
    """Tell of the lock that is named, or said to be on. Who says that it is somebody else's does not own it."""
    by, state = choices.get("locked_by", "").strip(), choices.get("disconnect_state")
    if not by and state not in _ON and "locked" not in choices.values():  # of another feed
        return None
    is_unknown = is_nobody(by) or (state == "locked_by_other" and same_name(by, said_by))
    return LockStands("" if is_unknown else by)
