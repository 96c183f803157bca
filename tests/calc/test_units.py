"""Units against NIST SP 811 (2008), appendix B, unless a check names another source."""

import contextlib
import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from calc.errors import CalcError, UnitError, UnknownNameError
from calc.quantities import Quantity
from calc.units import (
    conversion,
    difference_to_display,
    display_unit,
    kinds,
    parse,
    parse_accuracy,
    parse_difference,
    to_display,
    to_si,
    written_unit,
)

ATMOSPHERE_PA = 101325.0  # standard atmosphere, by definition

LINEAR = [
    ("1 psia", Quantity.PRESSURE, 6894.757, 1e-3),
    ("1 bar absolute", Quantity.PRESSURE, 1e5, 0),
    ("100 kPa absolute", Quantity.PRESSURE, 1e5, 0),
    ("250 Pa", Quantity.PRESSURE, 250, 0),
    ("0.25 MPa (absolute)", Quantity.PRESSURE, 250e3, 0),
    ("29.92 inHg", "barometric_pressure", 101320.8, 0.1),
    ("1013.25 hPa", "barometric_pressure", ATMOSPHERE_PA, 1e-9),
    ("500 micron", "vacuum_pressure", 66.66, 0.01),
    ("41 degF", Quantity.TEMPERATURE, 278.15, 1e-9),
    ("-40 °F", Quantity.TEMPERATURE, 233.15, 1e-9),
    ("-40 degC", Quantity.TEMPERATURE, 233.15, 1e-9),
    ("10 degF", Quantity.TEMPERATURE_DIFFERENCE, 10 / 1.8, 1e-12),
    ("55 %", Quantity.HUMIDITY, 55, 0),
    ("12 a", Quantity.CURRENT, 12, 0),
    ("0.23 kV", Quantity.VOLTAGE, 230, 1e-12),
    ("45 µF", Quantity.CAPACITANCE, 45e-6, 1e-18),
    ("3.4 kg", Quantity.MASS, 3.4, 0),
    ("6 oz", Quantity.MASS, 6 * 0.02834952, 1e-7),
    ("7 lb 8 oz", Quantity.MASS, 7.5 * 0.45359237, 1e-12),
    ("5 %", Quantity.RATIO, 0.05, 1e-15),
    ("1.25", Quantity.RATIO, 1.25, 0),
    ("30 m", "length", 30, 0),
    ("5280 ft", "length", 1609.344, 1e-9),
    ("1000 cmil", "area", 0.5067075e-6, 1e-13),
    ("0.5 inH2O", "pressure_difference", 124.54, 0.01),
    ("4.7 MΩ", "resistance", 4.7e6, 0),
    ("60 Hz", "frequency", 60, 0),
    ("12000 Btu/h", "power", 3516.853, 1e-3),
    ("1 ton", "power", 3516.853, 1e-3),
    ("1 hp", "power", 745.6999, 1e-4),
    ("1 kWh", "energy", 3.6e6, 0),
    ("20 lbf in", "torque", 2.259697, 1e-6),
    ("1 ft-lb", "torque", 1.355818, 1e-6),
    ("1 gal", "volume", 3.785412e-3, 1e-9),
    ("1200 cfm", "air_flow", 0.5663369, 1e-7),
    ("1 oz/ft", "mass_per_length", 0.09301, 1e-5),
    ("1 lb/ft3", "density", 16.01846, 1e-5),
    ("70 gr/lb", "humidity_ratio", 0.01, 1e-15),
    ("1 Btu/lb", "enthalpy", 2326, 1e-9),
    ("10 %", "percentage", 10, 0),
    ("2 min", "time", 120, 0),
    ("1 h 30 min", "time", 5400, 0),
]


@pytest.mark.parametrize(("text", "quantity", "expected", "error"), LINEAR)
def test_reads_a_value_with_its_unit(text, quantity, expected, error):
    assert parse(text, quantity) == pytest.approx(expected, abs=error, rel=1e-12)


TRADE = [
    ("45 MFD", Quantity.CAPACITANCE, 45e-6),
    ("45mfd", Quantity.CAPACITANCE, 45e-6),
    ("5 microfarads", Quantity.CAPACITANCE, 5e-6),
    ("0.5inWC", "pressure_difference", 0.5 * 249.0889),
    ("0.5 in. w.c.", "pressure_difference", 0.5 * 249.0889),
    ("500psig", "pressure_difference", 500 * 6894.757),
    ("36000 BTUH", "power", 36000 * 0.2930711),
    ("36 MBH", "power", 36000 * 0.2930711),
    ("3 tons", "power", 3 * 3516.853),
    ("1/2 hp", "power", 372.85),
    ("25 feet", "length", 7.62),
    ("3/8in", "length", 0.009525),
    ("1 1/8 inch", "length", 0.028575),
    ("1-1/8 inches", "length", 0.028575),
    ('3/8"', "length", 0.009525),
    ("5' 6\"", "length", 1.6764),
    ("9 amps", Quantity.CURRENT, 9),
    ("240VAC", Quantity.VOLTAGE, 240),
    ("240 Volts", Quantity.VOLTAGE, 240),
    ("11 ohms", "resistance", 11),
    ("20k", "resistance", 20e3),
    ("1.2 megohms", "resistance", 1.2e6),
    ("0.5 Torr", "vacuum_pressure", 0.5 * 133.3224),
    ("500 mTorr", "vacuum_pressure", 0.5 * 133.3224),
    ("500 microns", "vacuum_pressure", 500 * 0.1333224),
    ("4 Nm", "torque", 4),
    ("35 in-lbs", "torque", 35 * 0.1129848),
    ("7 lb 4 oz", Quantity.MASS, 7.25 * 0.45359237),
    ("7lb4oz", Quantity.MASS, 7.25 * 0.45359237),
    ("7 lbs. 4 oz.", Quantity.MASS, 7.25 * 0.45359237),
    ("75 deg F", Quantity.TEMPERATURE, 297.0389),
    ("75f", Quantity.TEMPERATURE, 297.0389),
    ("20 c", Quantity.TEMPERATURE, 293.15),
    ("300k", Quantity.TEMPERATURE, 300),
    ("9 f", Quantity.TEMPERATURE_DIFFERENCE, 5),
    ("51 percent", Quantity.HUMIDITY, 51),
    ("60 hertz", "frequency", 60),
    ("28 BTU/lb", "enthalpy", 28 * 2326),
]


@pytest.mark.parametrize(("text", "kind", "expected"), TRADE)
def test_reads_what_the_trade_writes(text, kind, expected):
    assert parse(text, kind) == pytest.approx(expected, rel=2e-6)


@pytest.mark.parametrize("text", ["25 inHg vac", "25 in. Hg vacuum", "25inHg Vac", "-25 inHg gauge"])
def test_a_vacuum_is_counted_down_from_the_air(text):
    read = parse(text, Quantity.PRESSURE, barometric_pressure_pa=ATMOSPHERE_PA)
    assert read == pytest.approx(ATMOSPHERE_PA - 25 * 3386.389)


@pytest.mark.parametrize(
    ("text", "kind", "message"),
    [
        ("-25 inHg vac", Quantity.PRESSURE, "counts down twice: write '25 inHg vac'"),
        ("25 inHg", Quantity.PRESSURE, "or inHg vac below the air"),
        ("45 MF", Quantity.CAPACITANCE, "did you mean uF"),
        ("4 oz 7 lb", Quantity.MASS, "the larger unit first"),
        ("1 lb 20 oz", Quantity.MASS, "ounces run from 0 to 15.99; write 2 lb 4 oz"),
        ("1 lb 16 oz", Quantity.MASS, "write 2 lb$"),
        ("7 ft 12 in", "length", "inches run from 0 to 11.99; write 8 ft$"),
        ("1,200 cfm", "air_flow", "may be 1200 or 1.200"),
        ("3/0 in", "length", "no unit of length"),
        ("45/5 uF", Quantity.CAPACITANCE, "as plates do: write the one that is meant, or 45 uF, 5 uF for both"),
        ("18/17 A", Quantity.CURRENT, "holds two values"),
        ("208/230 V", Quantity.VOLTAGE, "holds two values"),
        ("115/230V", Quantity.VOLTAGE, "holds two values"),
        ("118/70 psig", Quantity.PRESSURE, "holds two values"),
        ("5 mPa absolute", Quantity.PRESSURE, "no unit of pressure"),  # milli is not mega
        ("5 MA", Quantity.CURRENT, "no unit of current"),
        ("45 c", Quantity.CAPACITANCE, "did you mean uF"),  # a letter of a temperature is one of no other kind
    ],
)
def test_what_could_be_misread_is_refused(text, kind, message):
    with pytest.raises(UnitError, match=message):
        parse(text, kind, barometric_pressure_pa=ATMOSPHERE_PA)


def test_enthalpy_of_air_counts_from_the_datum_of_its_chart():
    """Dry air at 32 °F: 7.687 Btu/lb and 0 kJ/kg, ASHRAE Handbook of Fundamentals, ch. 1, table 3 (from memory)."""
    assert to_display(0.0, "moist_air_enthalpy", "us")[0] == pytest.approx(7.687, abs=0.01)
    assert to_display(0.0, "moist_air_enthalpy", "si")[0] == 0
    assert difference_to_display(2326.0, "moist_air_enthalpy", "us") == (pytest.approx(1.0), "Btu/lb")


def test_the_unit_of_a_writer():
    found, label = written_unit("-14.7 psig", Quantity.PRESSURE, barometric_pressure_pa=ATMOSPHERE_PA)
    assert (label, found.from_si(ATMOSPHERE_PA)) == ("psig", 0)
    assert written_unit("3/8in", "length")[1] == "in"
    area, label = written_unit("14 AWG", "area")
    assert (label, area.from_si(2.081e-6)) == ("cmil", pytest.approx(4110, rel=1e-3))  # ASTM B258
    assert written_unit("9 degF", Quantity.TEMPERATURE, difference=True)[0].from_si(5.0) == pytest.approx(9)


@pytest.mark.parametrize(("text", "expected_mm2"), [("14 AWG", 2.08), ("12awg", 3.31), ("4/0 AWG", 107.2)])
def test_wire_gauges_have_the_area_of_astm_b258(text, expected_mm2):
    assert parse(text, "area") == pytest.approx(expected_mm2 * 1e-6, rel=2e-3)


@pytest.mark.parametrize("text", ["118 psig", "118psig", "118 PSIG", "118 psi gauge", "118 psi (gauge)"])
def test_gauge_pressure_counts_from_the_barometric_pressure(text):
    expected = 118 * 6894.757 + 83.52e3
    read = parse(text, Quantity.PRESSURE, barometric_pressure_pa=83.52e3)
    assert read == pytest.approx(expected, abs=0.1)


def test_gauge_pressure_without_barometric_pressure_says_what_to_give():
    with pytest.raises(UnitError, match=r"'psig' is a gauge pressure: give the barometric pressure"):
        parse("118 psig", Quantity.PRESSURE)


@pytest.mark.parametrize(
    ("text", "fix"),
    [
        ("118 psi", "psig or psia"),
        ("1.1 bar", "bar gauge or bar absolute"),
        ("814 kPa", "kPa gauge or kPa absolute"),
    ],
)
def test_pressure_without_reference_is_refused(text, fix):
    with pytest.raises(UnitError, match=f"does not say what it counts from: write {fix}"):
        parse(text, Quantity.PRESSURE, barometric_pressure_pa=ATMOSPHERE_PA, bare_is_absolute=False)


@pytest.mark.parametrize("text", ["1.1 bar", "110 kPa", "0.11 MPa", "1100 hPa", "1100 mbar", "110000 Pa"])
def test_pressure_in_units_of_print_is_absolute_unless_refused(text):
    assert parse(text, "pressure") == pytest.approx(110e3)


def test_bare_psi_is_always_refused():
    with pytest.raises(UnitError, match="write psig or psia"):
        parse("118 psi", "pressure", barometric_pressure_pa=ATMOSPHERE_PA)


def test_reference_may_be_stated_beside_the_unit_but_not_against_it():
    assert parse("1.1 bar", Quantity.PRESSURE, reference="absolute") == pytest.approx(1.1e5)
    with pytest.raises(UnitError, match="'psig' says gauge, but the reference is stated as absolute"):
        parse("118 psig", Quantity.PRESSURE, reference="absolute")


@pytest.mark.parametrize(
    ("text", "quantity", "message"),
    [
        ("118 pisg", Quantity.PRESSURE, "'pisg' is no unit of pressure: did you mean psig?"),
        ("6 ozz", Quantity.MASS, r"did you mean oz\? It may be lb, oz, kg, g"),
        ("41", Quantity.TEMPERATURE, "a temperature needs a unit: it may be degF, degC, K"),
        ("warm", Quantity.TEMPERATURE, "'warm' is no temperature: write a number and a unit, such as"),
        ("nan degF", Quantity.TEMPERATURE, "is no temperature"),
        ("1e999 V", Quantity.VOLTAGE, "'1e999 V' is beyond any voltage"),
        ("1 MA", Quantity.CURRENT, "'MA' is no unit of current"),
        ("5/0 AWG", "area", "is no unit of area"),
        ("6 oz", "length", r"'oz' is no unit of length \(it is one of mass\): it may be ft, in, m, mm"),
        ("50 psi", Quantity.RATIO, "it may be a bare number, %"),
        ("118 psig", Quantity.MASS, r"\(it is one of pressure\): it may be lb"),
    ],
)
def test_what_cannot_be_read_is_named_with_the_fix(text, quantity, message):
    with pytest.raises(UnitError, match=message):
        parse(text, quantity)


def test_unknown_kind_lists_the_kinds():
    with pytest.raises(UnknownNameError, match="did you mean voltage"):
        parse("3 V", "voltages")


def test_kinds_go_by_the_names_of_the_quantities():
    assert parse("3 V", "voltage") == 3
    assert set(kinds()) > {"pressure", "temperature_difference", "length", "area", "time"}


@pytest.mark.parametrize(
    ("text", "quantity", "expected"),
    [
        ("0.5 degC", Quantity.TEMPERATURE, 0.5),
        ("10 degF", Quantity.TEMPERATURE, 10 / 1.8),
        ("1 psi", Quantity.PRESSURE, 6894.757),
        ("1 psig", Quantity.PRESSURE, 6894.757),
        ("2 %RH", Quantity.HUMIDITY, 2),
    ],
)
def test_differences_have_no_zero_and_no_reference(text, quantity, expected):
    assert parse_difference(text, quantity) == pytest.approx(expected, rel=1e-7)


def test_an_accuracy_is_not_negative():
    assert parse_accuracy("1 psi", "pressure") == pytest.approx(6894.757)
    assert parse_accuracy("0 degC", "temperature") == 0
    with pytest.raises(UnitError, match=r"'-1 psi' is negative: an accuracy is a limit on both sides, such as '1 psi'"):
        parse_accuracy("-1 psi", "pressure")


def test_a_difference_is_a_temperature_unless_said_otherwise():
    assert parse_difference("9 degF") == pytest.approx(5)


def test_instruments_values_convert_alone_and_in_arrays():
    psi = conversion("psi", Quantity.PRESSURE, reference="gauge", barometric_pressure_pa=ATMOSPHERE_PA)
    assert psi.to_si(118.0) == to_si(
        118.0, "psi", Quantity.PRESSURE, reference="gauge", barometric_pressure_pa=ATMOSPHERE_PA
    )
    assert psi.to_si(np.array([0.0, 118.0])).tolist() == [psi.to_si(0.0), psi.to_si(118.0)]


@pytest.mark.parametrize(
    ("value", "quantity", "us", "si"),
    [
        (ATMOSPHERE_PA + 6894.757, Quantity.PRESSURE, (1, "psig"), (6.894757, "kPa gauge")),
        (ATMOSPHERE_PA, "barometric_pressure", (29.9213, "inHg"), (101.325, "kPa")),
        (66.6612, "vacuum_pressure", (500, "micron"), (66.6612, "Pa")),
        (278.15, Quantity.TEMPERATURE, (41, "°F"), (5, "°C")),
        (5.0, Quantity.TEMPERATURE_DIFFERENCE, (9, "°F"), (5, "K")),
        (45e-6, Quantity.CAPACITANCE, (45, "µF"), (45, "µF")),
        (0.17009714, Quantity.MASS, (6, "oz"), (170.09714, "g")),
        (3.40194278, Quantity.MASS, (7.5, "lb"), (3.40194278, "kg")),
        (12.0, Quantity.CURRENT, (12, "A"), (12, "A")),
        (0.97, Quantity.RATIO, (0.97, ""), (0.97, "")),
    ],
)
def test_shows_both_systems(value, quantity, us, si):
    for system, (number, unit) in (("us", us), ("si", si)):
        shown = to_display(value, quantity, system, barometric_pressure_pa=ATMOSPHERE_PA)
        assert shown == (pytest.approx(number, rel=1e-5), unit)


def test_absolute_pressure_is_shown_without_a_barometer_but_gauge_pressure_is_not():
    assert to_display(6894.757, Quantity.PRESSURE, "us", reference="absolute") == (pytest.approx(1), "psia")
    with pytest.raises(UnitError, match="give the barometric pressure"):
        to_display(6894.757, Quantity.PRESSURE, "us")


def test_shows_uncertainties_as_differences():
    assert difference_to_display(5.0, Quantity.TEMPERATURE, "us") == (pytest.approx(9), "°F")
    assert difference_to_display(5.0, Quantity.TEMPERATURE, "si") == (5.0, "K")
    assert difference_to_display(6894.757, Quantity.PRESSURE, "us") == (pytest.approx(1), "psi")


@pytest.mark.parametrize("kind", kinds())
@pytest.mark.parametrize("system", ["us", "si"])
@given(value=st.floats(1e-6, 1e6), share=st.floats(1e-6, 1e3))
def test_a_margin_stands_in_the_unit_of_its_value(kind, system, value, share):
    """However large or small: the two numbers keep the ratio that the two values have."""
    unit = display_unit(value, kind, system)
    margin, margin_label = difference_to_display(value * share, kind, system, unit=unit)
    same, _ = difference_to_display(value, kind, system, unit=unit)
    _, label = to_display(value, kind, system, barometric_pressure_pa=ATMOSPHERE_PA, unit=unit)
    assert margin == pytest.approx(same * share)
    assert kind in ("pressure", "temperature", "temperature_difference") or margin_label == label


def test_a_column_has_the_unit_of_its_largest_value():
    scale_kg = np.array([math.nan, 0.1, 13.9])
    number, unit = to_display(scale_kg, Quantity.MASS, "us")
    assert unit == "lb"
    assert number[1:] == pytest.approx([0.220462, 30.64425], rel=1e-5)  # NIST SP 811: 1 lb = 0.453 592 37 kg
    assert to_display(scale_kg[:2], Quantity.MASS, "us")[1] == "oz"


@given(st.sampled_from(kinds()), st.floats(-1e6, 1e6))
def test_every_kind_shows_and_reads_back(kind, value):
    for system in ("us", "si"):
        number, unit = to_display(value, kind, system, barometric_pressure_pa=ATMOSPHERE_PA)
        back = to_si(number, unit, kind, barometric_pressure_pa=ATMOSPHERE_PA)
        assert back == pytest.approx(value, rel=1e-9, abs=1e-6)


@given(st.text(), st.sampled_from([*kinds(), "volume"]))
def test_any_text_is_read_or_refused(text, kind):
    for read in (parse, parse_difference):
        with contextlib.suppress(CalcError):
            assert math.isfinite(read(text, kind))


@given(st.from_regex(r"-?\d{1,9}(\.\d{0,3})? ?[a-zA-Z%]{0,5}", fullmatch=True), st.sampled_from(list(Quantity)))
def test_any_number_with_any_unit_is_read_or_refused(text, quantity):
    with contextlib.suppress(CalcError):
        assert math.isfinite(parse(text, quantity, barometric_pressure_pa=ATMOSPHERE_PA))
