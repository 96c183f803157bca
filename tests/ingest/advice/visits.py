"""A visit told second by second, as the daemon would have it: packs and advices go to a real record."""

import math
from collections.abc import Callable

from msgspec.structs import replace

from ingest.advice.advisor import Advisor, Given
from ingest.advice.memory import Earlier
from ingest.derive import derive
from ingest.record.store import Record
from ingest.rig import Rig
from ingest.visit.standing import Standing
from ingest.wire.messages import Added, Checked, CheckFound, Mark, Pack, Reading, as_recorded
from tests.wire_rig import UNCERTAINTIES, values

T0_S = 1_700_000_000.0


def pack(rig: Rig, second: float, subcooling_df: float, session: int = 1) -> Pack:
    measured = {
        name: Reading(value, T0_S + second, "ok", "", UNCERTAINTIES.get(name))
        for name, value in values(subcooling_df=subcooling_df).items()
        if name in UNCERTAINTIES
    }
    readings = {**measured, **derive(measured, rig.unit)}
    return as_recorded(Pack(rig.name, None, session, 0, second, T0_S + second, readings))


def pack_at(rig: Rig, second: int, suction_pa: float, liquid_pa: float, session: int = 1) -> Pack:
    """Give the pack of a unit at these pressures, which is at rest where the two are the same."""
    usual = pack(rig, float(second), 10.0, session)
    measured = {name: it for name, it in usual.readings.items() if name in UNCERTAINTIES}
    amps = 0.0 if suction_pa == liquid_pa else 9.0
    read = {"suction_pressure": suction_pa, "liquid_pressure": liquid_pa, "compressor_current": amps}
    measured |= {name: replace(measured[name], value=value) for name, value in read.items()}
    return replace(usual, readings={**measured, **derive(measured, rig.unit)})


class Visit:
    """A visit, told second by second: packs and advices go to the record as the daemon would have them.

    speed: how much faster than life the unit runs. every_s: from one advice to the next [s]. keeps_all: record every
    advice, and not what is news alone. is_left: as `Advisor.advise` takes it.
    """

    def __init__(
        self, rig: Rig, record: Record, *, speed: float = 1.0, every_s: int = 20, keeps_all: bool = False
    ) -> None:
        self.rig = rig
        self.every_s = every_s
        self.keeps_all = keeps_all
        self.is_left = False
        self.record = record
        self.standing = Standing(record.session.visit)
        marks = record.marks()
        changes_kg = {mark.id: self.standing.take(mark) for mark in marks}
        grounds = record.newest_grounds()
        self.advisor = Advisor(speed, grounds)
        self.advisor.go_on(Earlier(grounds, record.packs_of_late(), marks, changes_kg), rig, 101_325.0)

    def take(self, mark: Mark) -> None:
        """Put a mark into the record, and tell of it."""
        self.record.add_mark(mark)
        self.advisor.take(mark, self.standing.take(mark))

    def watch(self, seconds: range, subcooling_df: Callable[[int], float], *, saved: bool = True) -> list[Given]:
        """Watch on, with advice now and then."""
        packs, given = [], []
        for second in seconds:
            packs.append(pack(self.rig, float(second), subcooling_df(second), self.record.session.number))
            self.advisor.follow(packs[-1], self.rig, 101_325.0)
            if second % self.every_s == 0:
                given.append(self.advisor.advise(packs[-1], self.rig, 101_325.0, {}, is_left=self.is_left))
        if saved:
            self.record.commit(packs)
        for advice in given:
            if advice.is_news or self.keeps_all:
                self.record.add_advice(advice.time_s, advice.grounds, advice.payload)
        return given

    def check_clamp(self, channel: str, time_s: float = T0_S) -> None:
        """Hold another clamp beside it on the same pipe: the two agree."""
        found = CheckFound("one_pipe", channel, 309.0, 309.0, 308.9, 0.1, 0.3, 0.25, "within", other="another clamp")
        self.take(Checked(f"check-{channel}", time_s, "Sam", "technician", check=found))

    def charge_a_little(self) -> tuple[list[Given], list[Given]]:
        """A clamp is right; settled at 4 °F; 6 oz go in; settled at 6 °F. Gives the advices before and after."""
        self.check_clamp("liquid_line_temperature")
        before = self.watch(range(400), lambda second: 4.0 + 0.02 * math.sin(second))
        self.take(Added("m1", T0_S + 400, mass_kg=0.17, phase="liquid"))
        return before, self.watch(range(400, 1300), lambda second: 6.0 - 2.0 * math.exp(-(second - 400) / 90))
