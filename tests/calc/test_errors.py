"""What a program is given of an error: plain values that go into JSON."""

import json
import math

from calc.errors import ArgumentError, CalcRangeError, UnknownNameError


def test_of_any_error_its_kind_and_its_message() -> None:
    assert ArgumentError("give one or the other").as_fields() == {
        "kind": "ArgumentError",
        "message": "give one or the other",
    }


def test_of_a_range_its_numbers_and_no_end_where_there_is_none() -> None:
    fields = CalcRangeError("suction_pressure", -5.0, 0.0, math.inf, "Pa", "above a vacuum").as_fields()
    assert json.loads(json.dumps(fields, allow_nan=False)) == {
        "kind": "CalcRangeError",
        "message": "suction_pressure is -5 Pa, outside 0 to inf Pa: above a vacuum",
        "argument": "suction_pressure",
        "value": -5.0,
        "low": 0.0,
        "high": None,
        "unit": "Pa",
    }


def test_of_a_name_all_that_would_do() -> None:
    fields = UnknownNameError("refrigerant", "R-41A", ["R-32", "R-410A"]).as_fields()
    assert (fields["what"], fields["name"], fields["known"]) == ("refrigerant", "R-41A", ["R-32", "R-410A"])
