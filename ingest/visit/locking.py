"""The locks at a unit, by all that was said of them: one that somebody named stands, whatever its check came to."""

from collections.abc import Iterable, Mapping

from ingest.wire.messages import Finding, Mark, VisitOpened
from ingest.wire.texts import same_name

_ISOLATE, _POWER_BACK = "isolate", "power_back"
_ON, _OFF = frozenset({"locked_by_me", "locked_by_other"}), frozenset({"open", "closed"})
_NOBODY = frozenset({"", "technician", "the technician", "apprentice", "lead", "me", "myself", "i", "us", "we", "user"})
"""What names a role and no person: who reads it at the lock would not know whom to ask."""


def is_nobody(name: str) -> bool:
    """Tell whether a name is nobody's."""
    return name.strip().casefold() in _NOBODY


def locks_by(mark: Mark, before: tuple[str, ...]) -> tuple[str, ...]:
    """Tell whose locks stand once a mark was made."""
    match mark:
        case Finding():
            return locks_after(mark, before)
        case VisitOpened() if mark.carried_over:
            return together(before, mark.carried_over.locks)
    return before


def locks_after(found: Finding, before: tuple[str, ...]) -> tuple[str, ...]:
    """Tell whose locks stand once a check was found, the first one put on first; empty: of somebody not known.

    Each of several who work takes off their own: a lock that has a name stands until power is back with its owner named
    as having taken it off, whoever says that the disconnect is open or closed.
    """
    if found.check == _POWER_BACK:
        return before if found.outcome == "skipped" else without(before, found.choices.get("lock_removed_by", ""))
    if found.check != _ISOLATE:
        return before
    owner = _said_on(found.choices, found.by)
    if owner is None:
        is_off = found.choices.get("disconnect_state") in _OFF and found.outcome != "skipped"
        return tuple(filter(None, before)) if is_off else before
    if any(same_name(owner, it) for it in before):
        return before
    return (*filter(None, before), owner) if owner else (*before, owner)  # who is named may be who was not known


def together(locks: Iterable[str], more: Iterable[str]) -> tuple[str, ...]:
    """Put locks beside others, each person's once.

    >>> together(["Sam"], ["sam", "Kim"])
    ('Sam', 'Kim')
    """
    stand = [*locks]
    for it in more:
        if not any(same_name(it, known) for known in stand):
            stand.append(it)
    return tuple(stand)


def has_lock(locks: Iterable[str], name: str) -> bool:
    """Tell whether a person has a lock of their own on."""
    return any(same_name(name, it) for it in locks)


def without(locks: tuple[str, ...], name: str) -> tuple[str, ...]:
    """Leave out the lock of a person who has taken theirs off: the one by their name, or else the one not known."""
    if is_nobody(name):
        return locks
    its = next((it for it in locks if same_name(it, name)), "")
    return tuple(it for it in locks if it != its)


def _said_on(choices: Mapping[str, str], said_by: str) -> str | None:
    """Tell whose lock is named, or said to be on. Who says that it is somebody else's does not own it.

    A name beside a disconnect that is said not to be locked makes no lock, unless another feed is.
    """
    by, state = choices.get("locked_by", "").strip(), choices.get("disconnect_state")
    is_named = by and state not in _OFF
    if not is_named and state not in _ON and "locked" not in choices.values():  # of another feed
        return None
    is_unknown = is_nobody(by) or (state == "locked_by_other" and same_name(by, said_by))
    return "" if is_unknown else by
