"""The charging chart on the Visit page: what is known of it, what a keyed one says, and the air that it begins with."""

import json

import msgspec
import pytest

from calc.sentences import Sentence, text
from calc.targets import CHART_SOURCE, TABLE_SOURCE
from dashboard.chart_air import chart_air
from dashboard.entered import entered
from dashboard.errors import AskError
from dashboard.opinion import opinion
from dashboard.unit.told import told as unit_told
from dashboard.visit.chart import form
from dashboard.visit.told import Known
from ingest.wire.messages import Circuit, Sheet, Wording
from ingest.wire.packs import Pack, Reading
from ingest.wire.wording import worded
from tests import wire_rig
from tests.fahrenheit import kelvin

ORIFICE = Circuit("1", "R-410A", "fixed_orifice")
TITLE_24 = [(64, 85, 11), (66, 85, 15), (64, 90, 9)]
"""California Title 24, RA3.2: wet bulb, outdoor air, superheat [°F]."""


def sheet(*circuits: Circuit) -> Sheet:
    return Sheet("RTU-1", circuits)


def printed(*points: tuple[float, float, float]) -> Circuit:
    return msgspec.structs.replace(
        ORIFICE, superheat_chart_k=[(kelvin(wet), kelvin(out), df / 1.8) for wet, out, df in points]
    )


def value(circuit: Circuit, system: str) -> dict:
    made = form(sheet(circuit), "1", system)
    assert made is not None
    return json.loads(made.cards[0].fields[0].value)


@pytest.mark.parametrize("system", ["us", "si"])
def test_what_is_known_stands_as_it_is_printed_whatever_the_page_is_in(system: str) -> None:
    assert value(printed(*TITLE_24), system) == {
        "unit": "degF",
        "wet_bulbs": ["64", "66"],
        "outdoors": ["85", "90"],
        "cells": [["11", "15"], ["9", ""]],
    }


def test_what_is_whole_in_neither_stands_in_the_units_of_the_page() -> None:
    assert value(printed((64.5, 85, 11)), "us")["wet_bulbs"] == ["64.5"]
    assert value(printed((64.5, 85, 11)), "si")["outdoors"] == ["29.44"]  # 85 °F: (85 - 32) / 1.8, NIST SP 811, B.8


def test_each_fixed_orifice_has_a_card_the_one_in_view_first_and_a_valve_has_none() -> None:
    two = sheet(ORIFICE, msgspec.structs.replace(ORIFICE, name="2"), Circuit("3", "R-410A", "txv"))
    made = form(two, "2", "us")
    assert made is not None
    assert [card.title for card in made.cards] == ["RTU-1, circuit 2", "RTU-1, circuit 1"]
    assert not made.in_bar
    assert form(sheet(Circuit("3", "R-410A", "txv")), "3", "us") is None
    assert form(None, "", "us") is None


def test_a_chart_takes_the_place_of_a_target_that_was_typed() -> None:
    typed = sheet(msgspec.structs.replace(ORIFICE, target_superheat_dk=6.0))
    made = form(typed, "1", "us")
    assert made is not None
    assert "target_superheat_dk" not in made.cards[0].keys[0].body["fields"]["sheet"]["circuits"][0]


def test_a_keyed_chart_is_read_in_the_unit_that_stands_behind_it() -> None:
    base = {"sheet": {"circuits": [{}]}}
    path = "sheet/circuits/0/superheat_chart_k"

    def read(text: str) -> list:
        whole = entered(base, {path: (text, "charging_chart")}, barometric_pressure_pa=None)
        return whole["sheet"]["circuits"][0]["superheat_chart_k"]

    (point,) = read("64/85 11 degF")
    assert point == pytest.approx((290.928, 302.594, 6.111), abs=1e-3)  # NIST SP 811, B.8
    (point,) = read("18/30 6 degC")
    assert point == pytest.approx((291.15, 303.15, 6.0))
    assert read("degF") == []  # emptied
    for typed, says in (("64/ 11 degF", "'64/ 11' in the chart"), ("64/85 11", "unit is '11'")):
        with pytest.raises(AskError, match=says):
            read(typed)


def pack(**readings: Reading) -> Pack:
    return Pack("bench", 1, 1, 0, 0.0, 0.0, readings)


def test_the_air_of_now_is_given_in_both_units_where_it_is_of_now() -> None:
    """80 °F at 51 % is 67 °F wet bulb: the rating point of AHRI."""
    about = wire_rig.about(started_s=0.0)
    unit = msgspec.structs.replace(about.unit, metering_device="fixed_orifice")
    orifice = msgspec.structs.replace(about, unit=unit, barometric_pressure_pa=101325.0)
    inside = {
        "return_air_temperature": Reading(kelvin(80), 0.0),
        "return_air_humidity": Reading(51.1, 0.0),
    }
    outdoor = {"outdoor_air_temperature": Reading(kelvin(95), 0.0)}
    assert chart_air(pack(**inside, **outdoor), orifice) == {"degF": [67.0, 95.0], "degC": [19.4, 35.0]}
    measured = {"return_air_wet_bulb": Reading(kelvin(66), 0.0)}
    assert chart_air(pack(**inside, **measured), orifice) == {"degF": [66.0, None], "degC": [18.9, None]}
    old = {"outdoor_air_temperature": Reading(kelvin(95), 0.0, "stale")}
    assert chart_air(pack(**old), orifice) == {"degF": [None, None], "degC": [None, None]}
    hot = {**inside, "return_air_temperature": Reading(500.0, 0.0)}
    assert chart_air(pack(**hot), orifice) == {"degF": [None, None], "degC": [None, None]}
    assert chart_air(pack(**inside), about) is None
    assert chart_air(pack(**inside), None) is None


@pytest.mark.parametrize(("kind", "leads"), [("detail.weigh_in", True), ("no_target.beyond_chart", True), ("", False)])
def test_a_key_leads_to_the_chart_where_more_of_it_would_tell_more(kind: str, *, leads: bool) -> None:
    advice = msgspec.structs.replace(wire_rig.advice(time_s=0.0), details=[Wording("x", "x", kind)])
    assert opinion(advice, "us")["to_chart"] is leads


@pytest.mark.parametrize(("source", "leads"), [(TABLE_SOURCE, True), (CHART_SOURCE, False)])
def test_it_leads_there_while_the_charge_is_judged_by_the_table(source: str, *, leads: bool) -> None:
    told = worded(Sentence("detail.target_source", (text("source", source),)))
    advice = msgspec.structs.replace(wire_rig.advice(time_s=0.0), details=[told])
    assert opinion(advice, "us")["to_chart"] is leads


def test_the_unit_page_says_that_it_is_charged_by_its_chart() -> None:
    about = wire_rig.about(started_s=0.0)
    tag = about.unit.tag
    for circuit, there in ((printed(*TITLE_24), True), (ORIFICE, False)):
        known = Known(about, None, (), sheets={tag: msgspec.structs.replace(sheet(circuit), tag=tag)})
        said = json.dumps(unit_told(known, "us"))
        assert ("superheat by its maker's charging chart (values entered: 3)" in said) is there
