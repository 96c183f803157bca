"""Deciding and folding: whatever people ask in whatever order, the journal alone gives the same visit again."""

from typing import Any

import msgspec
from hypothesis import settings
from hypothesis import strategies as st
from hypothesis.stateful import RuleBasedStateMachine, invariant, rule

from ingest.visit.deciding import DoubtfulError, Facts, RefusedError
from ingest.visit.decisions import DECISIONS
from ingest.visit.repeated import is_repeated
from ingest.visit.standing import Standing
from ingest.wire.messages import (
    Added,
    Ask,
    Correction,
    Mark,
    Reading,
    Recovered,
    Role,
    VisitOpened,
    decode_mark,
    encode,
)
from tests import wire_rig

TIME_S = 1.7e9
CHANNELS = ("suction_pressure", "liquid_pressure", "suction_line_temperature", "condenser_fan_current", "cylinder_mass")
UNIT = wire_rig.about(started_s=TIME_S).unit

SAID: dict[str, st.SearchStrategy[Any]] = {
    "mass_kg": st.none() | st.floats(0.0, 60.0),
    "on": st.sampled_from(["1", "2", "blower", "nowhere", ""]) | st.booleans(),
    "circuit": st.sampled_from(["1", "2", "", "nowhere"]),
    "part": st.sampled_from(["blower", "", "nowhere"]),
    "channels": st.lists(st.sampled_from([*CHANNELS, "superheat"]), max_size=3).map(tuple),
    "turns": st.integers(-1, 60),
    "text": st.sampled_from(["", "Mind the filter.", " x "]),
    "by": st.sampled_from(["Sam", "Kim", "Robin"]),
}
"""What is said in a field of this name; the rest follows from its type."""


class Journal(RuleBasedStateMachine):
    """Asks in any order. What was recorded is kept as its bytes, as the record keeps it."""

    def __init__(self) -> None:
        super().__init__()
        opened = VisitOpened("m0", TIME_S, unit=UNIT.tag, circuit="1")
        self.journal = [encode(opened)]
        self.standing = Standing("v1", [opened])
        self.time_s = TIME_S

    @rule(
        kind=st.sampled_from(list(DECISIONS)),
        role=st.sampled_from(["technician", "lead"]),
        passes_s=st.floats(0.001, 3600.0),
        data=st.data(),
    )
    def ask(self, kind: type[Ask], role: Role, passes_s: float, data: st.DataObject) -> None:
        self.time_s = round(self.time_s + passes_s, 3)
        ids = [decode_mark(payload).id for payload in self.journal]
        said = {**SAID, "id": st.just(f"m{len(ids)}"), "of": st.sampled_from([*ids, "unknown"])}
        ask = data.draw(st.builds(kind, **{name: said[name] for name in kind.__struct_fields__ if name in said}))
        try:
            ask = msgspec.convert(msgspec.to_builtins(ask), kind)
        except msgspec.ValidationError:
            return  # nobody could send it
        readings = {name: Reading(self.time_s % 1e4, self.time_s) for name in CHANNELS}
        facts = Facts(UNIT, readings, frozenset(), frozenset(), circuits=("1", "2"), parts=("blower",))
        before = encode(self.standing.message())
        try:
            mark = DECISIONS[kind](ask, (ask.id, self.time_s, ask.by, role), self.standing, facts)
        except (RefusedError, DoubtfulError):
            assert encode(self.standing.message()) == before, "to decide changes nothing"
            return
        assert is_repeated(ask, role, mark)
        self.journal.append(encode(mark))
        self.standing.take(decode_mark(self.journal[-1]))

    @invariant()
    def the_journal_alone_gives_the_same_visit(self) -> None:
        marks: list[Mark] = [decode_mark(payload) for payload in self.journal]
        again = Standing("v1", marks)
        assert again.message() == self.standing.message()
        assert len(again.encoded()) <= 65_536  # what a broker of ours takes

    @invariant()
    def the_totals_are_what_was_moved(self) -> None:
        moved: dict[str, dict[str, float]] = {"added": {}, "recovered": {}}
        for mark in map(decode_mark, self.journal):
            if isinstance(mark, Added | Recovered):
                moved[mark.kind][mark.id] = mark.mass_kg
            elif isinstance(mark, Correction):
                next(way for way in moved.values() if mark.of in way)[mark.of] = mark.mass_kg or 0.0
        said = self.standing.message()
        assert abs(said.added_kg - sum(moved["added"].values())) < 1e-6
        assert abs(said.recovered_kg - sum(moved["recovered"].values())) < 1e-6


TestJournal = Journal.TestCase
TestJournal.settings = settings(max_examples=15, stateful_step_count=25, deadline=None)
