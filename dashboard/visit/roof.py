"""The roof that a unit stands on, drawn: its edge, north, where one comes up, and its units, each to go to."""

import math
from collections.abc import Callable, Mapping

from dashboard.sentences import say
from dashboard.visit.cards import Card, Dot, Drawing, Key
from ingest.wire.messages import Sheet
from ingest.wire.sheet import Roof

MOST_DRAWN = 40
"""Units beside the one at work, the nearest: more do not fit a thumb (common practice)."""


def drawing_of(
    sheet: Sheet, sheets: Mapping[str, Sheet], opens: Callable[[Sheet], Key] | None = None, spot: str = ""
) -> Drawing:
    """Draw the roof of a unit, as its own sheet has it, else as that of another unit of it does.

    sheets: of the register, by tag. opens: makes the key by which one goes to another unit; without, none is shown that
    can be touched, and not this one. spot: what is placed on it by a touch.
    """
    others = [it for it in sheets.values() if it.tag != sheet.tag and is_same_roof(it, sheet)]
    known = [it.roof for it in (sheet, *others) if it.roof is not None]
    middle = sheet.at or (0.5, 0.5)
    placed = sorted((math.dist(at, middle), it.tag, at) for it in others if (at := it.at) is not None)
    dots = [Dot(tag, at, opens(sheets[tag]) if opens else None) for _, tag, at in placed[:MOST_DRAWN]]
    here = [Dot(sheet.tag, sheet.at, here=True)] if sheet.at is not None and opens else []
    return Drawing(
        dots=(*dots, *here),
        north_deg=next((it.north_deg for it in known if it.north_deg is not None), None),
        hatch=next((it.hatch for it in known if it.hatch is not None), None),
        shape=next((it.width_m / it.depth_m for it in known if it.width_m and it.depth_m), 1.0),
        spot=spot,
    )


def is_same_roof(one: Sheet, other: Sheet) -> bool:
    """Whether two units stand on one roof: it is called the same, or where none is called anything, the place is."""
    names = [(it.roof or Roof()).name for it in (one, other)]
    return names[0] == names[1] if any(names) else bool(one.place) and one.place == other.place


def card(sheet: Sheet, sheets: Mapping[str, Sheet], opens: Callable[[Sheet], Key]) -> Card | None:
    """Make the card of the roof; None where no unit has a place on it yet."""
    title, beware = say("units.roof"), say("units.no_edge_guard")
    drawing = drawing_of(sheet, sheets, opens)
    if not drawing.dots:
        return None
    named = sheet.roof.name if sheet.roof else ""
    placed = sum(it.at is not None and it.tag != sheet.tag and is_same_roof(it, sheet) for it in sheets.values())
    more = (say("units.more_on_roof", count=placed - MOST_DRAWN),) if placed > MOST_DRAWN else ()
    return Card("roof", " · ".join(filter(None, [title, named or sheet.place])), (beware, *more), drawing=drawing)
