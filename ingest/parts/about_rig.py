"""What those who watch must know to make sense of the readings: renewed when any of it changes."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass

from msgspec.structs import replace

from ingest.record.store import Session
from ingest.rig import Rig
from ingest.tick import every
from ingest.wire.messages import About, InstrumentAbout, Mark, encode

PERIOD_S = 10.0


@dataclass(frozen=True, slots=True)
class Sources:
    """Where it comes from. started_s: when the daemon started [s since 1970]. circuit: the one that is read."""

    boot: str
    started_s: float
    rig: Callable[[], Rig]
    circuit: Callable[[], str]
    session: Callable[[], Session]
    instruments: Callable[[], Sequence[InstrumentAbout]]
    marks: Callable[[], Sequence[Mark]]
    barometric_pressure_pa: Callable[[], float]


class AboutRig:
    """Tells of one rig. show: publishes it as retained; what is the same as before may be left out there."""

    def __init__(self, sources: Sources, show: Callable[[bytes], None]) -> None:
        self._from = sources
        self._show = show

    async def run(self) -> None:
        """Renew it every ten seconds until cancelled: frames are counted in it."""
        await every(PERIOD_S, self.renew)

    def renew(self) -> None:
        """Tell how it stands now."""
        rig, session = self._from.rig(), self._from.session()
        about = About(
            rig=rig.name,
            boot=self._from.boot,
            session=session.number,
            started_s=self._from.started_s,
            visit=session.visit,
            visit_started_s=session.visit_started_s,
            unit=replace(rig.unit, circuit=self._from.circuit() or rig.unit.circuit),
            barometric_pressure_pa=round(self._from.barometric_pressure_pa(), 1),
            channels=[channel.about() for channel in rig.channels],
            instruments=self._from.instruments(),
            marks=self._from.marks(),
            simulated=rig.simulated,
            speed=rig.speed,
            played=rig.played,
        )
        self._show(encode(about))
