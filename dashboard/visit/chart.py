"""The maker's own charging chart of a fixed orifice, as a form: a box of it, or as many as somebody cares to type."""

import json
from collections.abc import Sequence
from math import isclose

import msgspec

from calc.cautions import Step
from calc.units import System
from dashboard.entered import CHART
from dashboard.sentences import say
from dashboard.visit.cards import Card, Field, Form, Key
from ingest.wire.messages import Sheet
from ingest.wire.sheet import Circuit, revision

ID = "chart"
_SHEET = "fields.sheet"
_UNITS = ("degF", "degC")


def form(sheet: Sheet | None, in_view: str, system: System) -> Form | None:
    """Make the form of the charts: a card for each circuit with a fixed orifice, the one in view first; None: none has.

    It stands behind a key of the unit's card, and one of the Charge page.
    """
    if sheet is None:
        return None
    charted = [it for it in enumerate(sheet.circuits) if it[1].metering_device == "fixed_orifice"]
    charted.sort(key=lambda it: it[1].name != in_view)
    cards = tuple(_card(sheet, index, circuit, system) for index, circuit in charted)
    return Form(ID, say("chart.title"), cards, in_bar=False) if cards else None


def key() -> Key:
    """Lead to it."""
    return Key(say("chart.open"), shows=ID, only_for="technician")


def _card(sheet: Sheet, index: int, circuit: Circuit, system: System) -> Card:
    plain = msgspec.to_builtins(sheet)
    plain["circuits"][index].pop("target_superheat_dk", None)  # the chart takes its place: the rig asks whether it may
    named = say("chart.of_circuit", tag=sheet.tag, name=circuit.name) if len(sheet.circuits) > 1 else sheet.tag
    return Card(
        f"chart-{circuit.name}",
        named,
        (say("chart.where"), say("chart.one_is_enough")),
        steps=(Step.LOOK,),
        fields=(
            Field(
                "chart",
                say("chart.grid"),
                "chart",
                f"{_SHEET}.circuits.{index}",
                quantity=CHART,
                value=_value(circuit, system),
                unit=_UNITS[system == "si"],
                needed=True,
                to="superheat_chart_k",
            ),
            Field(
                "photographs",
                say("chart.photograph"),
                "photographs",
                _SHEET,
                several=True,
                had=tuple(sheet.photographs),
            ),
        ),
        keys=(
            Key(
                say("units.keep"),
                "describe",
                {"fields": {"sheet": plain, "builds_on": revision(sheet)}},
                main=True,
                closes=True,
            ),
        ),
    )


def _value(circuit: Circuit, system: System) -> str:
    """Give what is known of it as it is printed, for visit/browser/chart.js; empty where nothing is.

    In whole degrees it was printed: that tells its unit, and the page's own does where neither is.
    """
    points = [tuple(point) for point in circuit.superheat_chart_k]
    if not points:
        return ""
    own = _UNITS[system == "si"]
    unit = next((it for it in (own, *_UNITS) if all(_is_whole(point, it) for point in points)), own)
    wet_bulbs, outdoors = (sorted({point[axis] for point in points}) for axis in (0, 1))
    known = {(wet, outdoor): superheat for wet, outdoor, superheat in points}
    cells = [[known.get((wet, outdoor)) for wet in wet_bulbs] for outdoor in outdoors]
    return json.dumps(
        {
            "unit": unit,
            "wet_bulbs": [_text(_temperature(it, unit)) for it in wet_bulbs],
            "outdoors": [_text(_temperature(it, unit)) for it in outdoors],
            "cells": [["" if it is None else _text(_difference(it, unit)) for it in row] for row in cells],
        }
    )


def _temperature(kelvin: float, unit: str) -> float:
    return kelvin * 1.8 - 459.67 if unit == "degF" else kelvin - 273.15


def _difference(dk: float, unit: str) -> float:
    return dk * 1.8 if unit == "degF" else dk


def _is_whole(point: Sequence[float], unit: str) -> bool:
    wet, outdoor, superheat = point
    printed = (_temperature(wet, unit), _temperature(outdoor, unit), _difference(superheat, unit))
    return all(isclose(it, round(it), abs_tol=1e-6) for it in printed)


def _text(value: float) -> str:
    return f"{round(value, 2):g}"
