"""Capacitors: the first steady reading of a section with its leads off, and what it carries while the motor runs."""

import math
from collections.abc import Mapping, Sequence
from typing import ClassVar

from calc.errors import CalcRangeError
from calc.estimate import Estimate
from calc.motor.capacitor import (
    USUAL_TOLERANCE_RATIO,
    CapacitorVerdict,
    Condition,
    capacitance_under_load,
    capacitor_verdict,
)
from calc.sentences import Part, Sentence, text
from ingest.noticing.motors import line_volts, runs
from ingest.noticing.plateau import Band, Plateau
from ingest.noticing.sections import Sections, only_can
from ingest.noticing.sight import Known, Seen, Sight
from ingest.wire.messages import ProposedFinding
from ingest.wire.sheet import Capacitor

STEADY = Band(share=0.005, least=0.02e-6, hold_s=2.0)
OPEN_F = 0.2e-6
"""A meter on nothing shows less: common practice, no source."""
ANOTHER_SHARE = 0.05
"""By so much another section reads, or another can: common practice, no source."""
SECTIONS: Mapping[str, str] = {"herm": "Herm to common", "fan": "Fan to common"}
_SECTIONS: Mapping[str, str] = {
    "capacitance_herm": "herm",
    "capacitance_fan": "fan",
    "multimeter_capacitance": "",
}
"""By channel; a multimeter does not tell on which section it is."""
_TOLD: Mapping[Condition, str] = {
    Condition.SOUND: "sound",
    Condition.FAILED: "failed",
    Condition.UNDECIDED: "undecided",
}


class SectionMeasured:
    """Takes the first steady reading on each section, and another one once the meter was off it."""

    latency_s: ClassVar[float] = STEADY.hold_s + 1.0

    def __init__(self) -> None:
        self._plateaus = {name: Plateau(STEADY) for name in _SECTIONS}
        self._told: dict[str, float] = {}
        self._sections = Sections()

    def take(self, sight: Sight) -> Sequence[Seen]:
        """Take the next sight."""
        seen = []
        for name, section in _SECTIONS.items():
            found = sight.estimate(name)
            plateau = self._plateaus[name]
            if found is None or found.value < OPEN_F:
                self._told.pop(name, None)
                plateau.clear()
            elif plateau.take(found.value, sight.unit_s, sight.time_s) and self._is_another(name, plateau.mean):
                self._told[name] = plateau.mean
                steady = Estimate(plateau.mean, found.standard_uncertainty)
                of = (section, "") if section else self._sections.of(steady, sight.unit_s, sight.known) or ("", "")
                seen.append(_measured(*of, steady, plateau, sight.known))
        return seen

    def _is_another(self, name: str, capacitance_f: float) -> bool:
        """Tell whether this is another section or can than the one that was told of last."""
        told_f = self._told.get(name)
        return told_f is None or abs(capacitance_f - told_f) > ANOTHER_SHARE * told_f


def _measured(section: str, how: str, found: Estimate, plateau: Plateau, known: Known) -> Seen:
    """Tell of a reading. how: by what its section is known, where no channel says it."""
    can, verdict = _verdict(section, found, known)
    values, spreads, choices = {}, {}, {}
    name = f"measured.{section or '?'}"
    values[name] = float(f"{found.value:.6g}")
    if found.standard_uncertainty:
        spreads[name] = found.standard_uncertainty
    part = can or only_can(known)
    if part and None not in (part.herm_f, part.fan_f):
        choices["sections"] = "dual"
    elif section:
        choices["sections"] = section
    if can:
        values |= _label(section, can)
    what = ProposedFinding(
        "capacitor_measured",
        values=values,
        per={} if section else SECTIONS,
        standard_uncertainties=spreads,
        choices=choices,
        part=part.name if part else "",
    )
    kind = "_".join(filter(None, ["noticed.capacitor", how, _TOLD[verdict.condition] if verdict else ""]))
    parts: list[Part] = [text("reads", _microfarad(found))]
    if not section:
        kind = "noticed.capacitor_unnamed"
    else:
        parts.append(text("section", section))
    if verdict:
        parts.append(text("why", verdict.reason))
    return Seen(what, plateau.from_s, plateau.to_s, Sentence(kind, tuple(parts)))


def _label(section: str, can: Capacitor) -> dict[str, float]:
    label_f = can.herm_f if section == "herm" else can.fan_f
    found = {f"label.{section}": label_f, "tolerance": can.tolerance_share}
    return {name: value for name, value in found.items() if value is not None}


def _verdict(section: str, found: Estimate, known: Known) -> tuple[Capacitor | None, CapacitorVerdict | None]:
    """Judge a section by its label, where the sheet has one; with its part."""
    cans = [(part, label_f) for part, label_f in _labels(section, known)]
    if len(cans) != 1:
        return None, None
    ((can, label_f),) = cans
    tolerance = USUAL_TOLERANCE_RATIO if can.tolerance_share is None else can.tolerance_share
    return can, capacitor_verdict(found, label_f, tolerance_ratio=tolerance)


def _labels(section: str, known: Known) -> list[tuple[Capacitor, float]]:
    cans = [] if known.sheet is None else [part for part in known.sheet.parts if isinstance(part, Capacitor)]
    of = {"herm": [(can, can.herm_f) for can in cans], "fan": [(can, can.fan_f) for can in cans]}
    return [(can, label_f) for can, label_f in of.get(section, []) if label_f is not None]


def _microfarad(found: Estimate) -> str:
    """Write it with its ±: microfarads are the same in both systems of units."""
    spread = f" ± {found.expanded() * 1e6:.2f}" if found.standard_uncertainty else ""
    return f"{found.value * 1e6:.2f}{spread} µF"


VOLTS = "multimeter_ac_voltage"
AMPS = "compressor_current"
HIGHER_THAN_LINE = 1.1
"""Across a run capacitor stands more than the line's voltage: common practice, no source."""
_LIKELY = (0.5, 1.15)
"""Of its label, what a section that is worth a question carries."""
VOLTS_STEADY, AMPS_STEADY = Band(0.01, 1.0, 3.0), Band(0.02, 0.1, 3.0)


class SectionUnderLoad:
    """Volts across a section and the amps in its lead, both steady while the motor runs.

    The clamp was on the compressor's own lead before: what it shows now is taken for a section's only where the two
    give what the label has, nearly. The lead is asked for. It is told again where it comes to another verdict: what is
    weak only when it is hot reads well at first.
    """

    latency_s: ClassVar[float] = 5.0

    def __init__(self) -> None:
        self._volts, self._amps = Plateau(VOLTS_STEADY), Plateau(AMPS_STEADY)
        self._told: tuple[str, Condition | None] | None = None

    def take(self, sight: Sight) -> Sequence[Seen]:
        """Take the next sight."""
        volts, amps, line = sight.estimate(VOLTS), sight.estimate(AMPS), line_volts(sight)
        on_it = volts is not None and bool(line) and runs(sight) is True and volts.value > HIGHER_THAN_LINE * max(line)
        steady_v = self._volts.take(volts.value if on_it and volts else None, sight.unit_s, sight.time_s)
        steady_a = self._amps.take(amps.value if amps else None, sight.unit_s, sight.time_s)
        if not on_it:
            self._told = None
        hertz = sight.known.sheet.hertz if sight.known.sheet else None
        if not (steady_v and steady_a) or volts is None or amps is None or hertz is None:
            return ()
        found = capacitance_under_load(
            self._amps.mean,
            self._volts.mean,
            frequency_hz=hertz,
            current_standard_uncertainty_a=amps.standard_uncertainty,
            voltage_standard_uncertainty_v=volts.standard_uncertainty,
        )
        section = _carried_by(found, sight.known)
        if not section:
            return ()
        can, verdict = _verdict(section, found, sight.known)
        condition = verdict.condition if verdict else None
        if self._told in ((section, condition), (section, Condition.FAILED)):
            return ()
        self._told = section, condition
        values = {"amps": round(self._amps.mean, 3), "volts": round(self._volts.mean, 2), "hertz": hertz}
        if can:
            values |= {name.removesuffix(f".{section}"): value for name, value in _label(section, can).items()}
        what = ProposedFinding(
            "capacitor_under_load",
            values=values,
            standard_uncertainties=sight.spreads(amps=AMPS, volts=VOLTS),
            choices={"section": section},
            part=can.name if can else "",
        )
        parts = (
            text("amps", f"{self._amps.mean:.2f} A"),
            text("volts", f"{self._volts.mean:.0f} V"),
            text("section", section),
            text("why", verdict.reason if verdict else _microfarad(found)),
        )
        from_s = max(self._volts.from_s, self._amps.from_s)
        return (Seen(what, from_s, sight.time_s, Sentence("noticed.capacitor_under_load", parts)),)


def section_in_the_jaw(sight: Sight) -> str:
    """Name the section whose lead the compressor's clamp is on, by the meter across it; empty where that does not tell.

    Its volts are above the line's, and with the amps they come near the label's capacitance.
    """
    volts, amps, line = sight.value(VOLTS), sight.value(AMPS), line_volts(sight)
    hertz = sight.known.sheet.hertz if sight.known.sheet else None
    if volts is None or amps is None or hertz is None or not line or volts <= HIGHER_THAN_LINE * max(line):
        return ""
    try:
        found = capacitance_under_load(
            amps,
            volts,
            frequency_hz=hertz,
            current_standard_uncertainty_a=sight.spread(AMPS),
            voltage_standard_uncertainty_v=sight.spread(VOLTS),
        )
    except CalcRangeError:  # a plate that cannot be, of which `SectionUnderLoad` tells
        return ""
    return _carried_by(found, sight.known)


def _carried_by(found: Estimate, known: Known) -> str:
    """Find the section whose label it is near; none, or one that cannot be told from another, is none."""
    low, high = _LIKELY
    near = [
        section
        for section in ("herm", "fan")
        for _, label_f in _labels(section, known)
        if low <= found.value / label_f <= high and math.isfinite(found.value)
    ]
    return near[0] if len(near) == 1 else ""
