"""The amps of each motor, once they are steady, beside its plate and what the conditions let expect.

A clamp that is, or seems to be, on another lead than the motor's tells nothing of it.
"""

import math
from collections.abc import Mapping, Sequence
from typing import ClassVar

from calc.comparing import Met, NotMet, compare
from calc.errors import CalcRangeError
from calc.estimate import Estimate
from calc.expected_current import Conditions, current_by_nameplate
from calc.lift import has_no_lift
from calc.quantities import Quantity
from calc.sentences import Part, Sentence, figure, text
from calc.situation import Situation
from ingest.noticing.capacitors import section_in_the_jaw
from ingest.noticing.jaw import Jaw
from ingest.noticing.motors import COMPRESSOR as CLAMPS
from ingest.noticing.motors import FANS, LINES, RUNNING_A, compressor_a, is_on_another_lead, runs
from ingest.noticing.plateau import Band, Plateau
from ingest.noticing.sight import Known, Seen, Sight
from ingest.wire.messages import ProposedFinding
from ingest.wire.sheet import Motor

STEADY = Band(share=0.03, least=0.1, hold_s=60.0)
RUNS_S = 300.0
"""After a start, until amps are those of the conditions: common practice, no source."""
HALF = 0.5
"""Of its rated amps: less is drawn by one that pumps nothing, or turns backwards (common practice, no source)."""
_PRESSURES = ("suction_pressure", "liquid_pressure")
COMPRESSOR = "compressor_current"
MOTORS = (COMPRESSOR, *FANS)


class AmpsSeen:
    """Takes the steady amps of each motor once a run."""

    latency_s: ClassVar[float] = RUNS_S + STEADY.hold_s + 1.0

    def __init__(self) -> None:
        self._plateaus = {name: Plateau(STEADY) for name in MOTORS}
        self._since_s: dict[str, float] = {}
        self._told: set[str] = set()
        self._jaws = {name: Jaw(name) for name in CLAMPS}

    def take(self, sight: Sight) -> Sequence[Seen]:
        """Take the next sight."""
        seen = []
        for jaw in self._jaws.values():
            jaw.take(sight)
        for name in MOTORS:
            if self._is_elsewhere(name, sight):
                self._plateaus[name].clear()
                continue
            found = _amps(name, sight)
            if found is None or not _draws(name, found, sight):
                self._plateaus[name].clear()
                self._since_s.pop(name, None)
                if found is not None:
                    self._told.discard(name)
                continue
            since_s = self._since_s.setdefault(name, sight.unit_s)
            steady = self._plateaus[name].take(found.value, sight.unit_s, sight.time_s)
            if steady and name not in self._told and sight.unit_s - since_s >= RUNS_S:
                self._told.add(name)
                drawn = Estimate(self._plateaus[name].mean, found.standard_uncertainty)
                if it := _told(name, drawn, self._plateaus[name], sight):
                    seen.append(it)
        return seen

    def _is_elsewhere(self, name: str, sight: Sight) -> bool:
        """Tell whether its clamp is on another lead: by who put it there, by a meter across a capacitor, by a jump."""
        channels = [it for it in (CLAMPS if name == COMPRESSOR else (name,)) if sight.reading(it) is not None]
        if any(is_on_another_lead(it, sight.known) for it in channels):
            return True
        if name != COMPRESSOR or any(it in sight.known.places for it in channels):
            return False
        return bool(section_in_the_jaw(sight)) or any(self._jaws[it].is_elsewhere for it in channels)


def _amps(name: str, sight: Sight) -> Estimate | None:
    if name != COMPRESSOR:
        return sight.estimate(name)
    amps = compressor_a(sight)
    spread = max(sight.spread(it) for it in (COMPRESSOR, f"{COMPRESSOR}_a"))
    return None if amps is None else Estimate(amps, spread)


def _draws(name: str, found: Estimate, sight: Sight) -> bool:
    return runs(sight) is True if name == COMPRESSOR else found.value > RUNNING_A / 4


def _told(name: str, drawn: Estimate, plateau: Plateau, sight: Sight) -> Seen | None:
    """Hold it against the plate; a motor of which no plate is known is told without."""
    rated_a = _rated_a(name, sight.known)
    motor = name.removesuffix("_current")
    values = {"amps.a": round(drawn.value, 3)}
    spreads = {"amps.a": drawn.standard_uncertainty} if drawn.standard_uncertainty else {}
    if name == COMPRESSOR:
        values |= _phases(sight)
    parts: list[Part] = [
        text("motor", motor.replace("_", " ")),
        figure("amps", drawn, Quantity.CURRENT),
    ]
    if rated_a is None:
        return None
    values |= {"rated": rated_a} | _moment(sight)
    parts.append(text("rated", f"{rated_a:g} A"))
    kind = f"noticed.{_against(name, drawn, rated_a)}"
    expected = _expected(rated_a, sight) if name == COMPRESSOR else None
    if name == COMPRESSOR and _may_pump_nothing(drawn, rated_a, sight):
        kind = "noticed.compressor_amps_half"
    elif expected is not None:
        kind = f"noticed.compressor_amps_{_beside(drawn, expected)}"
        parts.append(figure("expected", expected, Quantity.CURRENT))
    what = ProposedFinding(
        "motor_amps",
        values=values,
        standard_uncertainties=spreads,
        choices={"motor": motor},
        part=_part(name, sight.known),
    )
    return Seen(what, plateau.from_s, plateau.to_s, Sentence(kind, tuple(parts)))


def _phases(sight: Sight) -> dict[str, float]:
    """Give each leg of three, where each has its clamp."""
    legs = {f"amps.{leg}": sight.value(f"{COMPRESSOR}_{leg}") for leg in "abc"}
    found = {name: round(amps, 3) for name, amps in legs.items() if amps is not None}
    return found if len(found) == len(legs) else {}


def _moment(sight: Sight) -> dict[str, float]:
    """Give what the amps are seen beside: outdoor air, wet bulb, volts, head."""
    channels = {"outdoor": "outdoor_air_temperature", "volts": LINES[0], "head": "liquid_pressure"}
    channels |= {"wet_bulb": "return_air_wet_bulb"}
    return {name: round(value, 2) for name, it in channels.items() if (value := sight.value(it)) is not None}


def _beside(drawn: Estimate, expected: Estimate) -> str:
    """Say how amps stand to those expected, both within their ±."""
    off = math.hypot(drawn.standard_uncertainty, expected.standard_uncertainty)
    if abs(drawn.value - expected.value) <= 2 * off:
        return "as"
    return "more" if drawn.value > expected.value else "less"


def _may_pump_nothing(drawn: Estimate, rated_a: float, sight: Sight) -> bool:
    """Tell whether it draws less than half of its rated amps, and no pressures show that it pumps all the same."""
    if drawn.value >= HALF * rated_a:
        return False
    seen = {name: found for name in _PRESSURES if (found := sight.estimate(name)) is not None}
    return len(seen) < len(_PRESSURES) or has_no_lift(Situation(measured=seen))


def _against(name: str, drawn: Estimate, rated_a: float) -> str:
    """Say how it stands to the plate: full-load amps are the limit of a fan, rated ones are none of a compressor."""
    if name == COMPRESSOR:
        return "compressor_amps"
    match compare(drawn, -math.inf, rated_a):
        case Met():
            return "amps_within"
        case NotMet():
            return "amps_above"
    return "amps_cannot_tell"


def _expected(rated_a: float, sight: Sight) -> Estimate | None:
    """Say what the conditions let expect; None where one of them is unknown, or beyond what can be said."""
    wet_bulb_k, outdoor_k = sight.value("return_air_wet_bulb"), sight.value("outdoor_air_temperature")
    volts = [found for name in LINES if (found := sight.value(name)) is not None]
    nameplate_v = sight.known.sheet.volts if sight.known.sheet else None
    if wet_bulb_k is None or outdoor_k is None or not volts or nameplate_v is None:
        return None
    now = Conditions(wet_bulb_k, outdoor_k, sum(volts) / len(volts))
    try:
        return current_by_nameplate(rated_a, now=now, nameplate_v=nameplate_v)
    except CalcRangeError:  # weather or volts of which nothing is known: then nothing is expected
        return None


def _rated_a(name: str, known: Known) -> float | None:
    unit = known.unit
    plate: Mapping[str, float | None] = {
        COMPRESSOR: unit.compressor_rla_a,
        "condenser_fan_current": unit.condenser_fan_fla_a,
        "blower_current": unit.blower_fla_a,
    }
    return plate[name]


def _part(name: str, known: Known) -> str:
    drives = name.removesuffix("_current")
    parts = known.sheet.parts if known.sheet else ()
    found = [part.name for part in parts if isinstance(part, Motor) and part.drives == drives]
    return found[0] if len(found) == 1 else ""
