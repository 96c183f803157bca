"""Files of units with mistakes: each is told with its line and column, and all at once."""

from collections.abc import Mapping
from pathlib import Path

import pytest

from calc.units import parse
from ingest.record.errors import RecordError
from ingest.register.bringing_in import RegisterError, read_sheets, write_sheets
from ingest.register.columns import CIRCUIT_COLUMNS, PART_COLUMNS, UNIT_COLUMNS, Column, known_names
from ingest.register.csv_in import read_csv
from ingest.register.faults import UnitsFileError
from ingest.register.json_file import read_json
from ingest.wire.messages import Capacitor, Circuit, Contactor, Motor, Sheet
from ingest.wire.sheet import Roof
from tests.units import CORRECT

HEAD = "tag,circuit,refrigerant,metering_device"


def table(tmp_path: Path, *lines: str) -> Path:
    file = tmp_path / "units.csv"
    file.write_text("\n".join(lines), encoding="utf-8")
    return file


def wrong(file: Path) -> list[str]:
    with pytest.raises(UnitsFileError) as refused:
        read_sheets(file)
    return [str(fault) for fault in refused.value.faults]


def test_a_table_as_a_shop_writes_it(tmp_path: Path) -> None:
    """In the units of a US plate: NIST SP 811 has what they are in SI."""
    file = table(
        tmp_path,
        "Tag,Place,Refrigerant,Metering_Device,charge_lb,target_subcooling_df,high_side_design_pressure_psig,"
        "liquid_line_in,included_line_ft,part_1_kind,part_1_name,part_1_herm_uf,part_1_tolerance_percent,ports",
        'AHU-9,"Harbour Street library, roof",R-410A,TXV,7.5,9,450,3/8,25,Capacitor,run capacitor,40,6,',
        ",,,,,,,,,,,,,",
        "AHU-10,,r410a,eev,,,,,,,,,,none",
    )
    first, second = read_csv(file)
    (circuit,) = first.circuits
    assert (circuit.name, circuit.refrigerant, circuit.metering_device) == ("1", "R-410A", "txv")
    assert circuit.charge_kg == pytest.approx(7.5 * 0.45359237)
    assert circuit.target_subcooling_dk == pytest.approx(5.0)
    assert circuit.high_side_design_pressure_pa == pytest.approx(450 * 6894.757 + 101_325)
    assert circuit.liquid_line_m == pytest.approx(0.375 * 0.0254)
    assert circuit.included_line_m == pytest.approx(7.62)
    assert (first.place, first.parts) == (
        "Harbour Street library, roof",
        [Capacitor("run capacitor", herm_f=pytest.approx(40e-6), tolerance_share=0.06)],
    )
    assert second == Sheet("AHU-10", [Circuit("1", "r410a", "eev", ports=[])], parts=[])


def test_pressures_of_other_plates_count_from_the_air_outside(tmp_path: Path) -> None:
    for name, told in (("bar_gauge", "42"), ("kpa_gauge", "4200"), ("mpa_gauge", "4.2")):
        file = table(tmp_path, f"{HEAD},high_side_design_pressure_{name}", f"AHU-9,1,R-32,txv,{told}")
        (sheet,) = read_csv(file)
        assert sheet.circuits[0].high_side_design_pressure_pa == pytest.approx(4.2e6 + 101_325)


def test_what_is_of_the_unit_may_stand_in_any_of_its_rows_or_alike_in_several(tmp_path: Path) -> None:
    file = table(
        tmp_path,
        f"{HEAD},place,volts,part_2_kind,part_2_name,part_1_kind,part_1_name",
        "AHU-9,1,R-410A,txv,,230,motor,blower,,",
        "AHU-8,1,R-22,txv,,,,,,",
        "AHU-9,2,R-410A,txv,yard,230.0,,,motor,fan",
    )
    first, second = read_csv(file)
    assert (first.tag, first.place, first.volts) == ("AHU-9", "yard", 230.0)
    assert [circuit.name for circuit in first.circuits] == ["1", "2"]
    assert first.parts == [Motor("fan"), Motor("blower")]
    assert second.tag == "AHU-8"


@pytest.mark.parametrize(
    ("lines", "told"),
    [
        ([HEAD], ["line 1: it has no rows"]),
        ([""], ["line 1: it has no rows"]),
        (["tag,refrigerant", "AHU-9,R-22"], ["line 1, metering_device: this column is missing"]),
        ([f"{HEAD},charge", "AHU-9,1,R-22,txv,3"], ['line 1, charge: there is no such column; did you mean "charge_']),
        ([f"{HEAD},charge_kg,charge_lb", "AHU-9,1,R-22,txv,,3"], ["line 1, charge_lb: charge_kg says the same; keep one"]),  # noqa: E501
        ([f"{HEAD},charge_kg", 'AHU-9,1,R-22,txv,"3,5"'], ['line 2, charge_kg: "3,5": a number was expected, with a point']),  # noqa: E501
        ([f"{HEAD},charge_kg", "AHU-9,1,R-22,txv,nan"], ['line 2, charge_kg: "nan": a number was expected']),
        ([f"{HEAD},charge_kg", "AHU-9,1,R-22,txv,1_0"], ['line 2, charge_kg: "1_0": a number was expected']),
        ([f"{HEAD},charge_lb", "AHU-9,1,R-22,txv,9 kg"], ['line 2, charge_lb: "9 kg": ']),
        ([f"{HEAD},charge_kg", "AHU-9,1,R-22,txv,1e9"], ['line 2, charge_kg: "1000000000.0": more than 0, at most 1000']),  # noqa: E501
        ([f"{HEAD},charge_oz", "AHU-9,1,R-22,txv,-4"], ['line 2, charge_oz: "-0.113']),
        ([f"{HEAD},phases", "AHU-9,1,R-22,txv,2"], ['line 2, phases: "2": one of 1, 3 was expected']),
        ([f"{HEAD},phases", "AHU-9,1,R-22,txv,three"], ['line 2, phases: "three": a whole number was expected']),
        ([HEAD, "AHU-9,1,R-22,tvx"], ['line 2, metering_device: "tvx": one of ']),
        ([HEAD, "AHU-9,1,,txv"], ["line 2, refrigerant: is missing"]),
        ([HEAD, "AHU-9,1,R-999,txv"], ['line 2, refrigerant: "R-999": ']),
        ([HEAD, ",1,R-22,txv"], ["line 2, tag: is empty"]),
        ([HEAD, "AHU-9,1,R-22,txv,more"], ["line 2: it has 5 cells, and the first row names 4 columns"]),
        ([f"{HEAD},", "AHU-9,1,R-22,txv,more"], ['line 2: "more" stands in a column without a name']),
        ([HEAD, "AHU-9,1,R-22,txv", "AHU-9,1,R-22,txv"], ['line 3, circuit: "1": circuits[0].name has this name already']),  # noqa: E501
        ([HEAD, "AHU-9,,R-22,txv", "AHU-9,2,R-22,txv"], ["line 2, circuit: is missing"]),
        ([f"{HEAD},place", "AHU-9,1,R-22,txv,yard", "AHU-9,2,R-22,txv,roof"], ["line 3, place: the unit has another one in line 2"]),  # noqa: E501
        ([f"{HEAD},at_x_share", "AHU-9,1,R-22,txv,0.5"], ["line 2, at_y_share: a number was expected"]),
        ([f"{HEAD},at_x_share,at_y_share", "AHU-9,1,R-22,txv,0.5,2"], ['line 2, at_y_share: "2.0": 0 to 1 was expected']),  # noqa: E501
        ([f"{HEAD},part_1_name", "AHU-9,1,R-22,txv,fan"], ["line 2, part_1_kind: is missing; one of "]),
        ([f"{HEAD},part_1_kind", "AHU-9,1,R-22,txv,motor"], ["line 2, part_1_name: is missing"]),
        ([f"{HEAD},part_1_kind,part_1_name", "AHU-9,1,R-22,txv,pump,x"], ['line 2, part_1_kind: "pump": one of ']),
        ([f"{HEAD},part_7_kind,part_7_name,part_7_poles", "AHU-9,1,R-22,txv,motor,fan,1"], ['line 2, part_7_poles: "1": there is no such key']),  # noqa: E501
        ([f"{HEAD},part_1_kind,part_1_name,part_1_herm_uf", "AHU-9,1,R-22,txv,capacitor,can,4000"], ['line 2, part_1_herm_uf: "0.004']),  # noqa: E501
        ([HEAD, '"AHU\n9",1,R-22,txv', "AHU-8,1,R-999,txv"], ['line 2, tag: "AHU\\n9": holds the control character', 'line 4, refrigerant: "R-999"']),  # noqa: E501
        ([HEAD, 'AHU-9,1,R-22,"txv'], ["line 2: it is no CSV from here on: unexpected end of data"]),
    ],
)  # fmt: skip
def test_a_mistake_in_a_table_is_told_where_it_stands(tmp_path: Path, lines: list[str], told: list[str]) -> None:
    found = wrong(table(tmp_path, *lines))
    assert [fault[: len(start)] for fault, start in zip(found, told, strict=False)] == told


def test_all_mistakes_of_a_table_are_told_at_once(tmp_path: Path) -> None:
    lines = [f"{HEAD},colour,hertz", "AHU-9,1,R-22,tvx,red,600", ",1,R-22,txv,,", "AHU-8,1,R-22,txv,,6O"]
    assert [fault.partition(":")[0] for fault in wrong(table(tmp_path, *lines))] == [
        "line 1, colour",
        "line 2, metering_device",
        "line 3, tag",
        "line 4, hertz",
    ]


ONE = '{"tag": "AHU-9", "circuits": [{"name": "1", "refrigerant": "R-22", "metering_device": "txv"}]}'


@pytest.mark.parametrize(
    ("text", "told"),
    [
        ("", ["line 1: column 1: it is no JSON from here on: an array of sheets was expected, ["]),
        (ONE, ["line 1: column 1: it is no JSON from here on: an array of sheets was expected, ["]),
        (f"[{ONE}\n {ONE}]", ["line 2: column 2: it is no JSON from here on: a comma or ] was expected"]),
        (f"[{ONE},\n]", ["line 2: column 1: it is no JSON from here on: another sheet was expected after the comma"]),
        (f"[{ONE}]\nand more", ["line 2: column 1: it is no JSON from here on: nothing more was expected"]),
        (f"[{ONE},\n{{tag}}]", ["line 2: column 2: it is no JSON from here on: Expecting property name"]),
        (f"[{ONE},\n{ONE}]", ["line 2, tag: AHU-9 stands in line 1 already"]),
        (f"[{ONE},{ONE}]", ["line 1, tag: AHU-9 stands in line 1 already"]),
        (f"[{ONE},\n4]", ["line 2: "]),
        (f"[\n{ONE.replace('tag', 'tga')}]", ["line 2: tag: is missing", 'line 2: tga = "AHU-9": there is no such key here; did you mean "tag"?']),  # noqa: E501
        (f"[\n{ONE.replace('txv', 'tvx')}]", ['line 2: circuits[0].metering_device = "tvx": one of ']),
        (f"[\n{ONE.replace('R-22', 'R-999')}]", ['line 2: circuits[0].refrigerant = "R-999": ']),
        (f"[\n{ONE[:-1]}, \"at\": [1]}}]", ["line 2: at = a list: a list of 2 was expected"]),
        (f"[\n{ONE[:-1]}, \"volts\": NaN}}]", ["line 2: volts = nan: 100 to 1000 was expected"]),
        (f"[\n{ONE[:-1]}, \"tag\": \"x\"}}]", ["it cannot be read: 'tag' is given twice"]),
        ("[" * 100_000, ["it cannot be read: "]),
        (f"[1{'0' * 5_000}]", ["it cannot be read: "]),  # of which Python makes no number
    ],
)  # fmt: skip
def test_a_mistake_in_json_is_told_where_it_stands(tmp_path: Path, text: str, told: list[str]) -> None:
    file = tmp_path / "units.json"
    file.write_text(text, encoding="utf-8")
    found = wrong(file)
    assert [fault[: len(start)] for fault, start in zip(found, told, strict=False)] == told


def test_nothing_said_may_be_null_in_json(tmp_path: Path) -> None:
    file = tmp_path / "units.json"
    file.write_text(f'[{ONE[:-1]}, "at": null, "volts": null}}]')
    assert read_json(file)[0].tag == "AHU-9"


def test_what_is_no_file_of_units_is_told(tmp_path: Path) -> None:
    file = tmp_path / "units.csv"
    assert wrong(file) == ["it cannot be read: No such file or directory"]
    file.write_bytes(b"tag\nH\xe4user\n")
    assert wrong(file) == ["line 2: it is not UTF-8: save it as CSV UTF-8, or as JSON"]
    for act in (read_sheets, lambda path: write_sheets(path, [CORRECT])):
        with pytest.raises(RegisterError, match=r"units\.xlsx: a name that ends in \.csv or \.json was expected"):
            act(tmp_path / "units.xlsx")
    with pytest.raises(RecordError, match="cannot be written: No such file or directory"):
        write_sheets(tmp_path / "nowhere" / "units.csv", [CORRECT])
    write_sheets(tmp_path / "units.json", [CORRECT])
    (tmp_path / "visits.json").write_bytes(b"SQLite format 3\0 and its pages")
    with pytest.raises(RecordError, match="is a record, or another database, and would be lost"):
        write_sheets(tmp_path / "visits.json", [CORRECT])
    with pytest.raises(RecordError, match="is a record, or another database, and would be lost"):
        write_sheets(tmp_path / "units.json", [CORRECT], tmp_path / "units.json")


def test_every_column_with_another_unit_says_what_the_calculations_understand_by_it() -> None:
    """Each name ends with a unit that `calc.units` reads, or with how a pressure counts."""
    others = {
        "g": "mass",
        "lb": "mass",
        "oz": "mass",
        "ft": "length",
        "in": "length",
        "mm": "length",
        "uf": "capacitance",
    }
    found = {name.rpartition("_")[2] for name in known_names()}
    assert found >= others.keys()
    for unit, quantity in others.items():
        assert parse(f"1 {unit}", quantity) > 0


@pytest.mark.parametrize(
    ("columns", "structs", "elsewhere"),
    [
        (UNIT_COLUMNS, [Sheet], {"tag", "circuits", "parts", "at", "roof"}),
        (CIRCUIT_COLUMNS, [Circuit], set()),
        (PART_COLUMNS, [Motor, Capacitor, Contactor], set()),
    ],
)
def test_every_field_of_a_sheet_has_a_column(
    columns: Mapping[str, Column], structs: list[type[Sheet | Circuit | Motor]], elsewhere: set[str]
) -> None:
    fields = {field for struct in structs for field in struct.__struct_fields__}
    found = {column.field for column in columns.values()} - {"kind", "at_x_share", "at_y_share"}
    of_a_roof = {column for column in found if column.startswith(("roof_", "hatch_"))}
    assert found - of_a_roof == fields - elsewhere
    if "roof" in elsewhere:
        assert of_a_roof == {"roof_name", "roof_north_deg", "roof_width_m", "roof_depth_m", *HATCH}
        assert {*Roof.__struct_fields__} == {"name", "north_deg", "width_m", "depth_m", "hatch"}


HATCH = {"hatch_x_share", "hatch_y_share"}


def test_a_roof_is_read_from_its_columns_and_half_a_spot_is_told_at_its_column(tmp_path: Path) -> None:
    head = "tag,refrigerant,metering_device,at_x_share,at_y_share,roof_name,roof_north_deg,hatch_x_share,hatch_y_share"
    rows = "AHU-9,R-410A,txv,0.25,0.5,North hall,90,0,1\nAHU-8,R-410A,txv,,,,,0.5,\nAHU-7,R-410A,txv,,,,361,,"
    file = tmp_path / "units.csv"
    file.write_text(f"{head},roof_width_ft\n{rows.splitlines()[0]},100\n")
    (sheet,) = read_csv(file)
    assert sheet.at == (0.25, 0.5)
    assert sheet.roof == Roof("North hall", 90.0, (0.0, 1.0), width_m=pytest.approx(30.48))  # NIST SP 811, B.8
    file.write_text(f"{head}\n{rows}\n")
    with pytest.raises(UnitsFileError) as error:
        read_csv(file)
    assert [(fault.line, fault.column) for fault in error.value.faults] == [
        (3, "hatch_y_share"),
        (4, "roof_north_deg"),
    ]
