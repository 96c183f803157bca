"""The hardest visit that a sheet is asked to hold: two circuits, three moves, forty checks, a dozen instruments, long
notes. Unit, people and figures are invented."""

from msgspec.structs import replace

from ingest.record.reading import RecordedChannel
from ingest.report.channels import OF_A_CIRCUIT, OF_THE_UNIT
from ingest.visit.checklist import guided
from ingest.wire.messages import CylinderDescribed, Note, Photograph, Placed, Recovered, Waiting
from ingest.wire.wording import Wording
from tests.ingest.report.journal import BEGAN_S, OUNCE_KG, UNIT, Journal
from tests.ingest.report.recorded import Shelf
from tests.rigs import make_pack

ID = "v1"
CHECKS = 40
INSTRUMENTS = 12
LONG = (
    "The panel on the north side hangs by two of its four screws, and the gasket beneath it has come off over a hand's "
    "breadth; I put it back as far as it went. Water stands in the pan after rain: look at the slope before the pump."
)
_SAYS = (
    "Each section to common: Herm to common: 39.6 ± 0.4 µF, within 37.6 µF to 42.4 µF; fan to common: 5.02 ± 0.05 µF."
)


def shelf() -> Shelf:
    """Give the history that has it."""
    it = Journal(replace(UNIT, access="Ladder at the north wall; the key is with the porter, who leaves at four."))
    it.add(CylinderDescribed, name="7", use="virgin", refrigerant="R-454B", tare_kg=5.0, gross_kg=15.0)
    it.add(CylinderDescribed, name="R2", use="recovery", refrigerant="R-454B", tare_kg=6.0, gross_kg=6.0)
    _checks(it)
    for circuit in ("1", "2"):
        it.add(Placed, on=circuit, channels=["suction_pressure"])
        for check in ("readings_before", "readings_after"):
            values = {"subcooling": 4.0, "superheat": 9.0, "outdoor": 305.0}
            it.found(check, circuit=circuit, values=values, standard_uncertainties={"subcooling": 0.4})
    it.add(Recovered, mass_kg=30 * OUNCE_KG, how="scale", circuit="2", cylinder="R2")
    it.added(40.0, circuit="2", cylinder="7")
    it.added(4.0, circuit="1")
    it.add(Waiting, reason="parts", text="A contactor of two poles, 24 V, from the van of a colleague across the town.")
    for _ in range(3):
        it.add(Note, text=LONG)
    photographs = [it.add(Photograph, digest="ab" * 32, sent_digest="0" * 64, width=1280, height=960, check="panels")
                   for _ in range(20)]  # fmt: skip
    it.found("which_unit", photographs=photographs[:1], choices={"told_by": "tag", "hazards": LONG})
    it.found("look_first", "not_met", choices={"found": "explains", "found_what": LONG}, photographs=photographs[1:2])
    it.found("panels", photographs=photographs[2:3])
    it.found("complaint", "met", "said", choices={"complaint": "It stops every hot afternoon. " + LONG})
    it.handed_over(complaint="better", next_person=LONG, owner="Will have the roof looked at in autumn. " + LONG)
    it.signed(company="Field and Daughter", certificate="12345, universal", owner="Jo Field\n2 Mill Street")
    made = it.shelf()
    span_s = it.now_s - BEGAN_S
    made.packs[ID] = [_pack(BEGAN_S + 5.0 * at, at) for at in range(int(span_s / 5.0))]
    made.measured[ID] = [_channel(at) for at in range(3 * INSTRUMENTS)]
    return made


def _checks(it: Journal) -> None:
    """Put forty checks in: every one that there is, those of a circuit at both; of all outcomes, with long words."""
    named = [(each.check.word, of) for each in guided().values() for of in _of(each.check.of)]
    outcomes = ("met", "met", "not_met", "cannot_tell", "met", "skipped")
    for at, (word, circuit) in enumerate(named[: CHECKS - 4]):
        outcome = outcomes[at % len(outcomes)]
        skipped = outcome == "skipped"
        it.found(
            word,
            outcome,
            ("measured", "typed", "seen", "said")[at % 4],
            circuit=circuit,
            text=("It could not be reached from the ladder." if skipped else LONG if at % 9 == 0 else ""),
            reason="not_reachable" if skipped else "",
            says=None if skipped else Wording(_SAYS, _SAYS, "finding.within"),
        )


def _of(what: str) -> tuple[str, ...]:
    return ("1", "2") if what == "circuit" else ("",)


def _pack(time_s: float, at: int):
    pack = make_pack(time_s, **{name: _SI[name] * (1 + 0.001 * (at % 7)) for name in (*OF_A_CIRCUIT, *OF_THE_UNIT)})
    read = {name: replace(reading, standard_uncertainty=0.2) for name, reading in pack.readings.items()}
    return replace(pack, readings=read, sequence=at + 1)


_SI = dict.fromkeys((*OF_A_CIRCUIT, *OF_THE_UNIT), 300.0) | {
    "superheat": 6.0,
    "subcooling": 5.0,
    "air_split": 10.0,
    "suction_pressure": 9.1e5,
    "liquid_pressure": 26.1e5,
    "discharge_pressure": 26.6e5,
    "supply_air_flow": 0.55,
    "compressor_current": 11.0,
    "compressor_current_a": 11.0,
    "compressor_current_b": 11.1,
    "compressor_current_c": 11.2,
    "condenser_fan_current": 1.8,
    "blower_current": 3.1,
    "line_voltage_ab": 229.0,
    "line_voltage_bc": 230.0,
    "line_voltage_ca": 231.0,
}


def _channel(at: int) -> RecordedChannel:
    name = (*OF_A_CIRCUIT, *OF_THE_UNIT)[at % len((*OF_A_CIRCUIT, *OF_THE_UNIT))]
    instrument = f"instrument of the {('roof', 'van', 'shop')[at % 3]}, number {at // 3 + 1}"
    return RecordedChannel(name, instrument, "", 0.0, "", None, 0.5, 0.25, 1.0, 0.0, "2026-03-04", "")
