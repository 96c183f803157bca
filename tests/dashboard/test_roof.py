"""The drawing of a roof on the Visit page: whose units stand on it, and which sheet says what it is like."""

import msgspec
import pytest
from msgspec.structs import replace

from calc.units import System
from dashboard.visit.cards import Drawing, InIt, Key, laid_out
from dashboard.visit.roof import card, drawing_of, is_same_roof
from dashboard.visit.units import form
from ingest.wire.messages import Circuit, Sheet
from ingest.wire.sheet import Roof

HERE = Sheet("RTU-1", [Circuit("1", "R-410A", "txv")], place="Library, roof", at=(0.3, 0.4))


def opens(sheet: Sheet) -> Key:
    return Key(f"to {sheet.tag}")


def drawn(*others: Sheet, here: Sheet = HERE) -> Drawing:
    return drawing_of(here, {sheet.tag: sheet for sheet in (here, *others)}, opens)


@pytest.mark.parametrize(
    ("other", "same"),
    [
        ({}, True),
        ({"place": "Town hall"}, False),
        ({"roof": Roof("North")}, False),  # one is called something, and the other not
        ({"roof": Roof(north_deg=90.0)}, True),
    ],
)
def test_units_of_one_place_stand_on_one_roof_where_none_is_called_anything(other: dict, same: bool) -> None:
    assert is_same_roof(replace(HERE, **other), HERE) is is_same_roof(HERE, replace(HERE, **other)) is same


def test_units_whose_roofs_are_called_the_same_stand_on_one_wherever_their_place_is_said_to_be() -> None:
    north = replace(HERE, roof=Roof("North"))
    assert is_same_roof(north, replace(HERE, place="east wing", roof=Roof("North")))
    assert not is_same_roof(north, replace(HERE, roof=Roof("South")))
    assert not is_same_roof(replace(HERE, place=""), replace(HERE, place=""))  # nobody said where either stands


def test_each_unit_with_a_place_on_it_is_a_dot_and_another_than_this_one_can_be_gone_to() -> None:
    beside, unplaced = replace(HERE, tag="RTU-2", at=(0.7, 0.4)), replace(HERE, tag="RTU-3", at=None)
    dots = drawn(beside, unplaced, replace(HERE, tag="RTU-4", place="Town hall")).dots
    assert [(dot.says, dot.at, dot.here, dot.key) for dot in dots] == [
        ("RTU-2", (0.7, 0.4), False, Key("to RTU-2")),
        ("RTU-1", (0.3, 0.4), True, None),
    ]
    spot = drawing_of(HERE, {"RTU-1": HERE, "RTU-2": beside}, spot="Here")
    assert ([(dot.says, dot.key) for dot in spot.dots], spot.spot) == ([("RTU-2", None)], "Here")


def test_the_roof_is_as_its_own_sheet_has_it_else_as_another_of_it_does() -> None:
    known = replace(HERE, tag="RTU-2", roof=Roof("", 90.0, (0.1, 0.9), 40.0, 20.0))
    mine = replace(HERE, roof=Roof(north_deg=180.0))
    drawing = drawn(known, here=mine)
    assert (drawing.north_deg, drawing.hatch, drawing.shape) == (180.0, (0.1, 0.9), 2.0)
    nothing = drawn()
    assert (nothing.north_deg, nothing.hatch, nothing.shape) == (None, None, 1.0)


def test_no_roof_is_drawn_before_any_unit_has_its_place_on_it() -> None:
    assert card(replace(HERE, at=None), {}, opens) is None
    shown = card(HERE, {}, opens)
    assert shown is not None
    assert (shown.title, shown.keys) == ("Roof · Library, roof", ())
    assert "edge without a guard" in shown.says[0]


def test_of_a_roof_with_hundreds_of_units_the_nearest_are_drawn() -> None:
    """An event of the page is sent to everybody each time that the visit changes."""
    row = [replace(HERE, tag=f"RTU-{number}", at=(number / 500, 0.4)) for number in range(300)]
    many = drawn(*row, here=row[250])
    assert len(many.dots) == 40 + 1
    assert {dot.says for dot in many.dots} == {f"RTU-{number}" for number in range(230, 271)}
    shown = card(row[250], {sheet.tag: sheet for sheet in row}, opens)
    assert shown is not None
    assert "259 more" in shown.says[1]
    assert len(msgspec.json.encode(laid_out(shown, InIt("R-410A")))) < 40_000


@pytest.mark.parametrize(("system", "unit"), [("us", "ft"), ("si", "m")])
def test_a_roof_is_measured_as_roofs_are(system: System, unit: str) -> None:
    """A bare number on it counts in feet or metres, not in the inches of a tube."""
    (new,) = form(None, None, "", system).cards
    asked = {field.to: field for field in new.fields if field.quantity == "length"}
    assert {name: field.unit for name, field in asked.items()} == {"width_m": unit, "depth_m": unit}
