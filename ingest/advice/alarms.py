"""What to stop for at once, watched at every tick; an alarm stands until its reason has been gone for a while."""

from collections.abc import Mapping, Sequence
from typing import NamedTuple

from calc.charging import FILL_TEMPERATURE_K, safe_fill_mass
from calc.estimate import Estimate
from calc.judge.guidance import Alarm, AlarmKind, Running, alarms
from calc.units import System
from calc.wording import limit, measured
from ingest.advice.situation import fresh
from ingest.advice.wording import in_both
from ingest.rig import RecoveryCylinder
from ingest.wire.messages import Alarm as AlarmMessage
from ingest.wire.messages import Reading, UnitAbout

CLEAR_S = 10.0
"""So long its reason must be gone before an alarm ends, or one at its limit would flicker: common practice, no source.
"""

STARTING_S: Mapping[AlarmKind, float] = {AlarmKind.FLOODBACK: 120.0, AlarmKind.COMPRESSOR_CURRENT: 10.0}
"""After a start every compressor gets some liquid, and draws its inrush current: common practice, no source."""


class AlarmChange(NamedTuple):
    """Which alarms are new, and which have ended."""

    raised: Sequence[Alarm]
    ended: Sequence[Alarm]


class AlarmWatch:
    """Keeps the alarms that stand."""

    def __init__(self) -> None:
        self._standing: dict[AlarmKind, Alarm] = {}
        self._seen_s: dict[AlarmKind, float] = {}

    def follow(self, found: Sequence[Alarm], monotonic_s: float) -> AlarmChange:
        """Take what there is to stop for at this moment."""
        raised = [alarm for alarm in found if alarm.kind not in self._standing]
        for alarm in found:
            self._standing[alarm.kind] = alarm
            self._seen_s[alarm.kind] = monotonic_s
        ended = [alarm for kind, alarm in self._standing.items() if monotonic_s - self._seen_s[kind] >= CLEAR_S]
        for alarm in ended:
            del self._standing[alarm.kind]
        return AlarmChange(raised, ended)

    def standing(self) -> list[Alarm]:
        """Give the alarms that stand, the oldest first."""
        return list(self._standing.values())


def find_alarms(
    readings: Mapping[str, Reading],
    unit: UnitAbout,
    cylinder: RecoveryCylinder | None,
    since_start_s: float | None,
) -> list[Alarm]:
    """Look for reasons to stop among what is fresh and known; since_start_s as `RunningUnit` gives it."""
    found = alarms(
        Running(
            superheat_dk=fresh(readings.get("superheat")),
            liquid_pressure_pa=fresh(readings.get("liquid_pressure")),
            design_pressure_pa=unit.high_side_design_pressure_pa,
            condensing_over_outdoor_dk=fresh(readings.get("condensing_over_ambient")),
            compressor_load_ratio=fresh(readings.get("compressor_load_ratio")),
            cylinder_refrigerant_kg=_refrigerant(fresh(readings.get("cylinder_mass")), cylinder),
            cylinder_safe_fill_kg=_safe_fill_kg(unit.refrigerant, cylinder),
        )
    )
    return [alarm for alarm in found if _counts(alarm.kind, since_start_s)]


def _counts(kind: AlarmKind, since_start_s: float | None) -> bool:
    """Tell whether an alarm means anything: at rest there is no superheat to have, and a start passes."""
    return since_start_s is None or since_start_s >= STARTING_S.get(kind, 0.0)


def _refrigerant(gross: Estimate | None, cylinder: RecoveryCylinder | None) -> Estimate | None:
    """Take the tare off what the scale shows [kg]."""
    if gross is None or cylinder is None:
        return None
    return Estimate(gross.value - cylinder.tare_kg, gross.standard_uncertainty)


def _safe_fill_kg(refrigerant: str, cylinder: RecoveryCylinder | None) -> float | None:
    if cylinder is None:
        return None
    water_kg = cylinder.water_capacity_kg
    return safe_fill_mass(refrigerant, water_capacity_kg=water_kg, liquid_temperature_k=FILL_TEMPERATURE_K)


def alarm_message(alarm: Alarm, barometric_pressure_pa: float) -> AlarmMessage:
    """Word an alarm for those who watch."""
    bound = "at least" if alarm.kind is AlarmKind.FLOODBACK else "at most"

    def say(system: System) -> str:
        found = measured(alarm.measured, alarm.quantity, system, barometric_pressure_pa)
        return f"{found}; {bound} {limit(alarm.limit, alarm.quantity, system, barometric_pressure_pa)}"

    return AlarmMessage(alarm.kind.value, alarm.says, in_both(say), alarm.source)
