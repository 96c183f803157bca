"""Where the probes sit and whether a hose shares their port, as cards: each is put by one touch."""

from collections.abc import Sequence

from calc.quantities import CHANNELS, Quantity
from dashboard import words
from dashboard.sentences import say
from dashboard.visit.cards import Card, Form, Key
from ingest.wire.messages import About, Visit
from ingest.wire.sheet import Port

TURNS = (1, 2, 5, 10)
"""How often a lead is passed through a jaw (common practice, no source)."""
PORTS: tuple[Port, ...] = ("suction", "liquid", "discharge")


def form(about: About, visit: Visit, on: Sequence[str], motors: Sequence[str] = ()) -> Form:
    """Make the form of probes, clamps and hoses. on: the circuits of the unit, by name; motors: likewise."""
    instruments = [
        (it.name, [each.name for each in about.channels if each.instrument == it.name]) for it in about.instruments
    ]
    probes = [_probe(name, channels, visit, on) for name, channels in instruments if channels]
    amps = [each.name for each in about.channels if CHANNELS.get(each.name) is Quantity.CURRENT]
    clamps = [_clamp(name, visit, motors) for name in amps]
    pressures = {each.name for each in about.channels}
    hoses = [_hose(port, visit) for port in PORTS if f"{port}_pressure" in pressures]
    circuits = [_circuits(visit, on)] if len(on) > 1 else []
    return Form("places", say("places.title"), (*circuits, *hoses, *probes, *clamps))


def came_along(visit: Visit, tag: str, on: Sequence[str]) -> list[Card]:
    """Ask whether what was read at another unit has moved to this one: until that is said, none of it counts here."""
    if not visit.came_from:
        return []
    body = [(where, {"fields": {"on": where}}) for where in on]
    here = [
        Key(say("places.all_on", where=where) if len(on) > 1 else say("places.all_at", tag=tag), "place", it, main=True)
        for where, it in body
    ]
    return [
        Card(
            "came-along",
            say("places.came_along"),
            (say("places.were_at", unit=visit.came_from, tag=tag),),
            sign=("warning", "care"),
            keys=(Key(say("places.one_by_one"), shows="places", only_for="technician"), *here),
        )
    ]


def _circuits(visit: Visit, on: Sequence[str]) -> Card:
    """Put all that reads a circuit on another one by one touch, which brings that one into view."""
    in_view = say("places.in_view", name=visit.circuit) if visit.circuit else say("places.none_in_view")
    keys = [Key(say("places.all_on", where=where), "place", {"fields": {"on": where}}, closes=True) for where in on]
    return Card("circuit-in-view", say("places.circuit"), (in_view, say("places.what_follows")), keys=tuple(keys))


def _key(channels: Sequence[str], where: str, says: str = "") -> Key:
    put = say("places.on_circuit", where=where) if where else say("places.off")
    return Key(says or put, "place", {"fields": {"channels": list(channels), "on": where}})


def _sits(where: str, *, is_off: bool = False) -> str:
    if where:
        return say("places.sits_on", where=where)
    return say("places.on_nothing" if is_off else "places.not_said")


def _probe(name: str, channels: Sequence[str], visit: Visit, on: Sequence[str]) -> Card:
    said = [visit.places[channel] for channel in channels if channel in visit.places]
    where = {it.on for it in said}
    is_off = where == {""} and all(it.turns == 1 for it in said)  # turns in a jaw tell nothing of where it is
    elsewhere = [why for channel in channels if (why := visit.elsewhere.get(channel))]
    return Card(
        f"probe-{name}",
        name,
        (
            ", ".join(words.channel(channel) for channel in channels),
            _sits(", ".join(sorted(filter(None, where))), is_off=is_off),
            *([] if is_off else elsewhere[:1]),
        ),
        sign=("warning", "care") if elsewhere else ("", ""),
        keys=(*(_key(channels, where) for where in (*on, "")), *_one_of_them(name, channels, on)),
    )


def _one_of_them(name: str, channels: Sequence[str], on: Sequence[str]) -> list[Key]:
    """Put one channel of an instrument elsewhere than the others: a clamp has a lead of its own."""
    if len(channels) < 2:
        return []
    keys = [
        _key(
            [channel], where, say("places.one_on" if where else "places.one_off", what=words.channel(channel), on=where)
        )
        for channel in channels
        for where in (*on, "")
    ]
    return [Key(say("places.one"), opens=Card("one", say("places.one_of", name=name), keys=tuple(keys)))]


def _clamp(channel: str, visit: Visit, motors: Sequence[str]) -> Card:
    """Put a clamp around the lead of a motor, once or several times; what is so already is not asked again."""
    placed = visit.places.get(channel)
    on = placed.on if placed else ""
    turns = placed.turns if placed else 1
    return Card(
        f"clamp-{channel}",
        say("places.clamp", channel=words.channel(channel)),
        (_sits(on), say("places.turns", turns=turns)),
        keys=tuple(
            Key(says, "place", {"fields": {"channels": [channel], "on": where, "turns": count}})
            for says, where, count in (
                *((say("places.on", where=motor), motor, turns) for motor in motors),
                *((f"{count} ×", on, count) for count in TURNS),
            )
            if (where, count) != (on, turns)
        ),
    )


def _hose(port: Port, visit: Visit) -> Card:
    is_on = port in visit.hoses
    body = {"fields": {"port": port, "on": not is_on}}
    return Card(
        f"hose-{port}",
        say("places.hose", port=port),
        (say("places.hose_is_on") if is_on else say("places.hose_is_off"),),
        sign=("warning", "care") if is_on else ("", ""),
        keys=(Key(say("places.hose_off") if is_on else say("places.hose_on"), "hose", body, main=is_on),),
    )
