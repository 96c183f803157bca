"""What a person may write for an argument, and what is said of what cannot be read."""

from datetime import date
from enum import StrEnum

import pytest
from hypothesis import given
from hypothesis import strategies as st

from calc.arguments import (
    DATE,
    NUMBER,
    REFRIGERANT,
    TEXT,
    YES_NO,
    Accuracy,
    Choice,
    Count,
    Dated,
    Difference,
    ListOf,
    Measure,
    Number,
    argument,
    unit_of,
)
from calc.errors import CalcError, UnitError, UnknownNameError
from calc.quantities import Quantity


class Colour(StrEnum):
    LIGHT_RED = "light_red"
    BLUE = "blue"


COLOUR = Choice("colour", tuple(Colour))
POUND_KG = 0.45359237


@pytest.mark.parametrize(
    ("kind", "text", "expected"),
    [
        (Quantity.MASS, "2 lb", 2 * POUND_KG),
        ("length", "30 m", 30.0),
        (Measure("time"), "2 min", 120.0),
        (Difference(Quantity.TEMPERATURE), "9 degF", 5.0),
        (Difference(Quantity.TEMPERATURE), "-9 degF", -5.0),
        (Accuracy(Quantity.TEMPERATURE), "0.5 degC", 0.5),
        (NUMBER, "1.25", 1.25),
        (Number(0, 1), " 0.5 ", 0.5),
        (Count(1), "3", 3),
        (COLOUR, "blue", Colour.BLUE),
        (COLOUR, "Light-Red", Colour.LIGHT_RED),
        (DATE, "2026-05-30", date(2026, 5, 30)),
        (YES_NO, "Yes", True),
        (YES_NO, "no", False),
        (YES_NO, "Y", True),
        (Choice("column", ("60", "75"), (("75c", "75"),)), "75C", "75"),
        (TEXT, " roof ", "roof"),
        (REFRIGERANT, "r410a", "R-410A"),
        (ListOf(Quantity.MASS), "2 lb, 3lb", (2 * POUND_KG, 3 * POUND_KG)),
        (ListOf(Count()), "1,2", (1, 2)),
        (Dated(Quantity.MASS), "2026-05-30 2 lb", (date(2026, 5, 30), 2 * POUND_KG)),
    ],
)
def test_reads(kind, text, expected):
    read = argument(kind).read(text, None)
    assert read == (pytest.approx(expected) if isinstance(expected, float) else expected)


@pytest.mark.parametrize(
    ("kind", "text", "error", "message"),
    [
        (NUMBER, "many", UnitError, "'many' cannot be read: write a plain number, such as 1.5"),
        (NUMBER, "nan", UnitError, "nan is outside"),
        (NUMBER, "inf", UnitError, "inf is outside"),
        (Number(0, 1), "2", UnitError, "2 is outside 0 to 1"),
        (Count(1, 3), "4", UnitError, "4 is outside 1 to 3"),
        (Count(), "1" * 400, UnitError, "is outside 0 to 1000000000"),
        (Count(), "1.5", UnitError, "write a whole number, such as 3"),
        (COLOUR, "bleu", UnknownNameError, "unknown colour 'bleu': did you mean blue"),
        (DATE, "30.5.2026", UnitError, "write a date as year-month-day, such as 2026-05-30"),
        (YES_NO, "perhaps", UnknownNameError, "unknown answer 'perhaps': It may be yes, no"),
        (REFRIGERANT, "R-0", UnknownNameError, "unknown refrigerant"),
        (Accuracy("length"), "-1 m", UnitError, "is negative"),
        (ListOf(Quantity.MASS), "2 lb, 3 ft", UnitError, r"'ft' is no unit of mass \(it is one of length\)"),
        (Dated(Quantity.MASS), "2 lb", UnitError, "'2' cannot be read: write a date"),
        (Dated(Quantity.MASS), "2026-05-30", UnitError, "'' is no mass"),
        (Quantity.PRESSURE, "1.1 bar", UnitError, "write bar gauge or bar absolute"),
    ],
)
def test_says_what_cannot_be_read(kind, text, error, message):
    with pytest.raises(error, match=message):
        argument(kind).read(text, None)


@pytest.mark.parametrize(("kind", "text"), [(YES_NO, "yes"), (NUMBER, "1.5"), (DATE, "2026-05-30")])
def test_what_has_no_unit_is_told_as_it_is(kind, text):
    conversion, label = unit_of(kind, text, None)
    assert (conversion.from_si(1.5), label) == (1.5, "")


def test_gauge_pressures_count_from_the_barometric_pressure():
    read = ListOf(Quantity.PRESSURE).read("0 psig, 100 kPa absolute", 101325.0)
    assert read == pytest.approx((101325.0, 100e3))


@given(st.text(), st.sampled_from([NUMBER, Count(), COLOUR, DATE, YES_NO, ListOf(Count()), Dated("length"), "time"]))
def test_any_text_is_read_or_refused(text, kind):
    try:
        read = argument(kind).read(text, None)
    except CalcError:
        return
    assert read is not None
