"""Sheets: everything that is wrong with one, and a circuit of one as the rig works with it."""

from pathlib import Path
from typing import Any

import pytest
from hypothesis import given, settings
from msgspec.structs import replace

from calc import refrigerants
from calc.charging_chart import ChartPoint
from ingest.advice.situation import nameplate
from ingest.visit.sheets import about, changed_circuits, faults, from_about
from ingest.wire.messages import Capacitor, Circuit, Contactor, Motor, Sheet, UnitAbout, decode, encode
from ingest.wire.sheet import Roof
from tests.rigs import make_rig
from tests.units import CORRECT, sheets
from tests.wire_rig import unit


def wrong(sheet: Sheet) -> dict[str, str]:
    return {problem.key: problem.expected for problem in faults(sheet)}


def with_circuit(**changes: Any) -> Sheet:
    return replace(CORRECT, circuits=[replace(CORRECT.circuits[0], **changes), CORRECT.circuits[1]])


CHART = [(290.0, 303.0, 8.0), (293.0, 303.0, 11.0), (290.0, 309.0, 4.0), (293.0, 309.0, 7.0)]


def orifice(chart: list[tuple[float, float, float]], **changes: Any) -> Sheet:
    known = {"metering_device": "fixed_orifice", "target_superheat_dk": None} | changes
    return with_circuit(superheat_chart_k=chart, **known)


def test_a_charging_chart_goes_from_the_sheet_to_what_judges() -> None:
    sheet = orifice(CHART)
    assert faults(sheet) == []
    judged = nameplate(about(sheet, sheet.circuits[0].name))
    assert judged.superheat_chart == tuple(ChartPoint(*point) for point in CHART)
    kept = from_about(about(sheet, sheet.circuits[0].name)).circuits[0]
    assert tuple(kept.superheat_chart_k) == tuple(CHART)


def with_part(part: Motor | Capacitor | Contactor) -> Sheet:
    return replace(CORRECT, parts=[part])


def test_two_circuits_whose_names_look_alike_have_one_name() -> None:
    """U+200B and U+3164 have no width or no ink (Unicode Character Database: Cf, and a filler)."""
    first, second = CORRECT.circuits
    for unseen in ("\u200b", "\u3164"):
        sheet = replace(CORRECT, circuits=[first, replace(second, name=first.name + unseen)], parts=[])
        assert wrong(sheet) == {"circuits[1].name": "circuits[0].name has this name already"}


def test_a_part_is_named_otherwise_than_any_circuit() -> None:
    """A probe is put on either by its name: on a part that is called as a circuit, its amps would be of that one."""
    sheet = replace(CORRECT, parts=[replace(CORRECT.parts[2], name="2")])
    (problem,) = faults(sheet)
    assert (problem.key, problem.value) == ("parts[0].name", "2")
    assert "a probe is put on either" in problem.expected


def test_a_sound_sheet_has_no_fault() -> None:
    assert faults(CORRECT) == []


@settings(max_examples=40, deadline=None)
@given(sheets())
def test_a_sheet_comes_back_from_the_wire(sheet: Sheet) -> None:
    assert faults(sheet) == []
    assert faults(decode(encode(sheet), Sheet)) == []


@pytest.mark.parametrize(
    ("sheet", "key"),
    [
        (replace(CORRECT, tag=" \u200b"), "tag"),
        (replace(CORRECT, tag="RTU-4 "), "tag"),
        (replace(CORRECT, tag="R" * 65), "tag"),
        (replace(CORRECT, place="x" * 501), "place"),
        (replace(CORRECT, access="up\nthe ladder"), "access"),
        (replace(CORRECT, model="m" * 65), "model"),
        (replace(CORRECT, at=(0.5, 1.5)), "at[1]"),
        (replace(CORRECT, at=(float("nan"), 0.5)), "at[0]"),
        (replace(CORRECT, roof=Roof("R" * 65)), "roof.name"),
        (replace(CORRECT, roof=Roof(north_deg=361.0)), "roof.north_deg"),
        (replace(CORRECT, roof=Roof(hatch=(0.5, -0.1))), "roof.hatch[1]"),
        (replace(CORRECT, roof=Roof(width_m=0.5)), "roof.width_m"),
        (replace(CORRECT, roof=Roof(depth_m=2001.0)), "roof.depth_m"),
        (replace(CORRECT, sketch="a photograph"), "sketch"),
        (replace(CORRECT, photographs=["p" * 65]), "photographs"),
        (replace(CORRECT, photographs=[f"p{number}" for number in range(21)]), "photographs"),
        (replace(CORRECT, volts=24.0), "volts"),
        (replace(CORRECT, hertz=600.0), "hertz"),
        (replace(CORRECT, mca_a=0.0), "mca_a"),
        (replace(CORRECT, circuits=[], parts=[]), "circuits"),
        (replace(with_circuit(name=""), parts=[]), "circuits[0].name"),
        (replace(with_circuit(name="2"), parts=[]), "circuits[1].name"),
        (with_circuit(refrigerant="R-999"), "circuits[0].refrigerant"),
        (with_circuit(charge_kg=0.0), "circuits[0].charge_kg"),
        (with_circuit(charge_kg=1001.0), "circuits[0].charge_kg"),
        (with_circuit(charge_kg=None), "circuits[0].charge_kg"),  # though it is the nameplate's
        (with_circuit(target_superheat_dk=40.1), "circuits[0].target_superheat_dk"),
        (with_circuit(high_side_design_pressure_pa=400.0), "circuits[0].high_side_design_pressure_pa"),  # psi
        (with_circuit(liquid_line_m=0.375), "circuits[0].liquid_line_m"),  # inches
        (with_circuit(ports=["suction", "suction"]), "circuits[0].ports"),
        (orifice([(319.0, 305.0, 5.0)]), "circuits[0].superheat_chart_k"),  # a wet bulb of 46 °C
        (orifice([*CHART, CHART[0]]), "circuits[0].superheat_chart_k"),
        (orifice(CHART, metering_device="txv"), "circuits[0].superheat_chart_k"),
        (orifice(CHART, target_superheat_dk=6.0), "circuits[0].superheat_chart_k"),
        (orifice([*CHART, (292.0, 305.0, 41.0)]), "circuits[0].superheat_chart_k[4][2]"),
        (orifice([*CHART, (67.0, 95.0, 8.0)]), "circuits[0].superheat_chart_k"),  # in °F
        (orifice([(280 + n / 10, 300.0 + n % 2, 8.0) for n in range(121)]), "circuits[0].superheat_chart_k"),
        (with_part(Motor("")), "parts[0].name"),
        (replace(CORRECT, parts=[Motor("fan"), Contactor("fan")]), "parts[1].name"),
        (with_part(Motor("fan", circuit="3")), "parts[0].circuit"),
        (with_part(Motor("fan", drives="compressor", rated_current_a=0.2)), "parts[0].rated_current_a"),
        (with_part(Motor("fan", rated_current_a=70.0, locked_rotor_a=12.0)), "parts[0].locked_rotor_a"),
        (with_part(Capacitor("can", herm_f=40.0)), "parts[0].herm_f"),  # microfarad
        (with_part(Capacitor("can", tolerance_share=6.0)), "parts[0].tolerance_share"),  # percent
        (with_part(Contactor("contactor", poles=5)), "parts[0].poles"),
        (with_part(Motor("fan", photographs=["/etc"])), "parts[0].photographs"),
    ],
)
def test_what_is_wrong_is_told_by_its_key(sheet: Sheet, key: str) -> None:
    assert list(wrong(sheet)) == [key]


def test_everything_that_is_wrong_is_told_at_once() -> None:
    found = wrong(replace(with_circuit(refrigerant="R-41OA", charge_kg=-1.0), volts=1.0, tag=""))
    assert list(found) == ["tag", "volts", "circuits[0].refrigerant", "circuits[0].charge_kg"]
    assert "R-410A" in found["circuits[0].refrigerant"]


def test_a_sheet_is_no_larger_than_a_message_has_room_for() -> None:
    """16 KiB; a message has 64."""
    parts = [Motor(f"fan {number}", photographs=["p" * 60] * 5) for number in range(60)]
    assert "at most 16384 are kept" in wrong(replace(CORRECT, parts=parts))["the sheet"]


def test_the_ranges_are_those_of_the_configuration(tmp_path: Path) -> None:
    """What can be configured can be kept: at both ends of what docs/configuration.md lets pass."""
    for charge_kg, amps in ((1000.0, 0.5), (1e-6, 1000.0)):
        ends = unit(nameplate_charge_kg=charge_kg, compressor_rla_a=amps, target_superheat_dk=40.0)
        assert faults(from_about(ends)) == []
    assert wrong(from_about(unit(nameplate_charge_kg=1000.1))).keys() == {"circuits[0].charge_kg"}


def test_a_unit_that_is_configured_comes_back_from_its_sheet(tmp_path: Path) -> None:
    for configured in (make_rig(tmp_path).unit, unit(compressor_rla_a=None, nameplate_charge_kg=None)):
        sheet = from_about(configured)
        assert faults(sheet) == []
        assert about(sheet, "1") == replace(configured, circuit="1")


def test_a_circuit_is_told_with_what_its_refrigerant_is() -> None:
    """ASHRAE 34: R-454B is A2L and a zeotrope."""
    second = about(CORRECT, "2")
    assert second == UnitAbout(
        tag="RTU-M2D-1",
        place="Harbour Street library, roof, south row",
        refrigerant="R-454B",
        safety_class="A2L",
        metering_device="fixed_orifice",
        charge_as_liquid=True,
        nameplate_charge_kg=2.5,
        compressor_rla_a=10.0,
        condenser_fan_fla_a=2.0,
        circuit="2",
    )
    assert about(CORRECT, "1").compressor_rla_a == 12.0
    with pytest.raises(KeyError):
        about(CORRECT, "3")


def test_rated_amps_are_given_only_where_they_can_be_of_one_plate() -> None:
    fans = [Motor("fan 1", drives="condenser_fan", rated_current_a=2.0)]
    fans += [Motor("fan 2", drives="condenser_fan", rated_current_a=2.0)]
    assert about(replace(CORRECT, parts=fans), "1").condenser_fan_fla_a == 2.0
    fans += [Motor("fan 3", drives="condenser_fan", rated_current_a=3.0)]
    assert about(replace(CORRECT, parts=fans), "1").condenser_fan_fla_a is None
    of_none = [Motor("compressor", drives="compressor", rated_current_a=12.0)]
    assert about(replace(CORRECT, parts=of_none), "1").compressor_rla_a is None  # of which of the two?
    alone = replace(CORRECT, circuits=CORRECT.circuits[:1], parts=of_none)
    assert about(alone, "1").compressor_rla_a == 12.0


def test_a_changed_refrigerant_or_charge_is_found_and_another_spelling_is_none() -> None:
    first, second = CORRECT.circuits
    assert changed_circuits(CORRECT, with_circuit(refrigerant="R410A", target_subcooling_dk=6.0)) == []
    other = replace(first, charge_kg=3.5)
    assert changed_circuits(CORRECT, replace(CORRECT, circuits=[second, other])) == [(first, other)]
    assert changed_circuits(CORRECT, replace(CORRECT, circuits=[first])) == [(second, None)]
    third = Circuit("3", "R-22", "txv")
    assert changed_circuits(CORRECT, replace(CORRECT, circuits=[first, second, third])) == []


def test_every_refrigerant_can_stand_on_a_sheet() -> None:
    for name in refrigerants.names():
        assert about(Sheet("x", [Circuit("1", name, "txv")]), "1").refrigerant == name
