"""What is left to touch of a visit that is signed: a key for what the rig would refuse only costs a touch."""

from collections.abc import Sequence
from dataclasses import replace

from dashboard.visit.cards import Card, Key
from ingest.wire.asks import APPENDED
from ingest.wire.events import word_of

_LEFT = frozenset(map(word_of, APPENDED))


def appending(cards: Sequence[Card]) -> list[Card]:
    """Leave the keys that add to the visit, or are not of it; a card that had others only is left out."""
    fit = [(card, tuple(filter(_is_left, card.keys))) for card in cards]
    return [replace(card, keys=keys) for card, keys in fit if keys or not card.keys]


def _is_left(key: Key) -> bool:
    if key.opens is not None:
        return any(map(_is_left, key.opens.keys))
    return key.ask in _LEFT or key.adds != 0 or bool(key.shows)
