"""Logs as loggers write them: each is understood with few questions, each answered by a word, and comes in right.

The shapes are invented after what separators, stamps and headers are in use: common practice, no source. What a value
must come out as follows from its unit: NIST SP 811, B.8 for psi and bar, the definition of the scales for °F.
"""

from dataclasses import dataclass
from pathlib import Path

import pytest

from dewline import main
from ingest.importing.answers import AnswerError, answered, questions
from ingest.importing.guess import guess
from ingest.record.reading import RecordFile
from ingest.wire.messages import Pack

PSI_PA, AIR_PA = 6894.757, 101325.0
UNIT = ("tag=RTU-9", "refrigerant=R-134a", "metering_device=txv", "elevation=0m")
ACCURATE = ("pressure.accuracy=1psi", "temperature.accuracy=0.5degC")
T0 = "2026-06-01T14:00:00"
T0_S = 1780322400.0
"""`date -u -d 2026-06-01T14:00:00 +%s`."""


@dataclass(frozen=True)
class Shape:
    """A log, what is answered, how many questions there are, and what its first reading is. name: of the file."""

    text: str
    answers: tuple[str, ...]
    asked: int
    suction_pa: float
    line_k: float
    first_s: float = T0_S
    name: str = "log.csv"
    encoding: str = "utf-8"
    age_s: float = 0.0


SHAPES = {
    "semicolons with decimal commas": Shape(
        "Time;Suction pressure [bar(g)];Suction line temp [°C]\n"
        "01.06.2026 14:00:00;2,50;10,5\n01.06.2026 14:00:01;2,51;10,6\n",
        (*UNIT, *ACCURATE, "zone=UTC"),
        7, 250_000 + AIR_PA, 283.65,
    ),
    "day first, and a day that is no month": Shape(
        "Time,Suction (psig),Suction line (degF)\n13/06/2026 14:00,36.0,50.0\n13/06/2026 14:01,36.1,50.1\n",
        (*UNIT, *ACCURATE, "zone=UTC", "value=sample"),
        8, 36 * PSI_PA + AIR_PA, 283.15, T0_S + 12 * 86_400,
    ),
    "day first, which nothing shows": Shape(
        "Time,Suction (psig),Suction line (degF)\n01/06/2026 14:00,36.0,50.0\n01/06/2026 14:01,36.1,50.1\n",
        (*UNIT, *ACCURATE, "zone=UTC", "value=sample", "format=day-first"),
        9, 36 * PSI_PA + AIR_PA, 283.15,
    ),
    "units in the second line": Shape(
        "Date\tTime\tSuction pressure\tSuction line\n\t\tpsig\tdegF\n"
        "2026-06-01\t14:00:00\t36.0\t50.0\n2026-06-01\t14:00:01\t36.1\t50.1\n",
        (*UNIT, *ACCURATE, "zone=UTC"),
        7, 36 * PSI_PA + AIR_PA, 283.15, encoding="utf-16",
    ),
    "units in the second line, and how in the third": Shape(
        "Time,P_low,T_suction\n,psig,degC\n,Avg,Smp\n2026-06-01 14:00:00,36.0,10.0\n2026-06-01 14:00:02,36.1,10.1\n",
        (*UNIT, *ACCURATE, "zone=UTC"),
        7, 36 * PSI_PA + AIR_PA, 283.15,
    ),
    "units in brackets, mixed by column": Shape(
        "Timestamp,Suction line [°F],Liquid line temp. (°C),Low side pressure [psig],Flag\n"
        "2026-06-01T14:00:00Z,50.0,30.5,36.0,1\n2026-06-01T14:00:01Z,50.1,30.6,36.1,0\n",
        (*UNIT, *ACCURATE),
        6, 36 * PSI_PA + AIR_PA, 283.15,
    ),
    "milliseconds since 1970, behind a byte order mark": Shape(
        "timestamp,suction_psig,suction_degF\n1780322400000,36.0,50.0\n1780322400500,36.1,50.1\n",
        (*UNIT, *ACCURATE),
        6, 36 * PSI_PA + AIR_PA, 283.15, encoding="utf-8-sig",
    ),
    "ten lines above it": Shape(
        "Logger;7\nSerial;12345\nInterval;5\nStart;2026-06-01 14:00:00\nChannels;2\nBattery;3,1\nSite;roof\n"
        "Operator;-\nFirmware;2,0\n\nTime;Low pressure (psig);Suction temp (degC)\n"
        "2026-06-01 14:00:00;36,0;10,0\n2026-06-01 14:00:05;36,1;10,1\n2026-06-01 14:00:10;36,1;10,1\n"
        "2026-06-01 14:00:15;36,1;10,1\n2026-06-01 14:00:20;36,1;10,1\n",
        (*UNIT, *ACCURATE, "zone=UTC"),
        7, 36 * PSI_PA + AIR_PA, 283.15,
    ),
    "averages of a quarter of an hour": Shape(
        "Time,Suction (psig) avg,Suction temp avg (degC),Suction temp max (degC)\n"
        "2026-06-01 14:15,36.0,10.0,12\n2026-06-01 14:30,36.1,10.1,12\n",
        (*UNIT, *ACCURATE, "zone=UTC", "value=average_before"),
        8, 36 * PSI_PA + AIR_PA, 283.15, T0_S + 900, age_s=450.0,
    ),
    "one file a day": Shape(
        "Time,Suction (psig),Suction line (degF)\n14:00:00,36.0,50.0\n14:00:01,36.1,50.1\n",
        (*UNIT, *ACCURATE, "zone=UTC"),
        7, 36 * PSI_PA + AIR_PA, 283.15, name="roof_2026-06-01.csv",
    ),
    "one file a day, of which its name says none": Shape(
        "Time,Suction (psig),Suction line (degF)\n2:00:00 PM,36.0,50.0\n2:00:01 PM,36.1,50.1\n",
        (*UNIT, *ACCURATE, "zone=UTC", "date=2026-06-01"),
        8, 36 * PSI_PA + AIR_PA, 283.15,
    ),
    "what is missing as dashes and words": Shape(
        "Time,Suction (psig),Suction line (degF)\n2026-06-01 14:00:00,36.0,50.0\n2026-06-01 14:00:01,---,N/A\n",
        (*UNIT, *ACCURATE, "zone=UTC"),
        7, 36 * PSI_PA + AIR_PA, 283.15,
    ),
    "gauge or absolute unsaid": Shape(
        "Time,Suction (psi),Suction line (degF)\n2026-06-01 14:00:00,36.0,50.0\n2026-06-01 14:00:01,36.1,50.1\n",
        (*UNIT, *ACCURATE, "zone=UTC", "reference=absolute"),
        8, 36 * PSI_PA, 283.15,
    ),
}  # fmt: skip


def proposed(shape: Shape, folder: Path) -> tuple[Path, Path]:
    log, map_ = folder / shape.name, folder / "map.toml"
    log.write_bytes(shape.text.encode(shape.encoding))
    return log, map_


def brought_in(log: Path, map_: Path, data: Path) -> list[Pack]:
    assert main(["import", str(log), "--map", str(map_), "--data", str(data), "--no-advice"]) == 0
    file = RecordFile(data / "visit.sqlite")
    return list(file.visit_packs(file.visits()[-1].id))


@pytest.mark.parametrize("name", SHAPES)
def test_it_is_understood_by_a_few_words_and_comes_in_right(
    tmp_path: Path, name: str, capsys: pytest.CaptureFixture[str]
) -> None:
    shape = SHAPES[name]
    log, map_ = proposed(shape, tmp_path)
    assert len(questions(guess(log).text)) == shape.asked == len(shape.answers)
    assert main(["import", "--guess", str(log), "--map", str(map_), "--answer", *shape.answers]) == 0
    told = capsys.readouterr().out
    assert "is suction_pressure, " in told
    assert "asks nothing: look through it, and import by it" in told
    first = brought_in(log, map_, tmp_path / "data")[0]
    assert first.time_s == shape.first_s
    assert first.readings["suction_pressure"].value == pytest.approx(shape.suction_pa, abs=0.2)
    assert first.readings["suction_line_temperature"].value == pytest.approx(shape.line_k, abs=1e-4)
    assert first.readings["suction_pressure"].time_s == shape.first_s - shape.age_s


@pytest.mark.parametrize("name", SHAPES)
def test_without_its_answers_it_is_refused_with_line_and_cure(
    tmp_path: Path, name: str, capsys: pytest.CaptureFixture[str]
) -> None:
    shape = SHAPES[name]
    log, map_ = proposed(shape, tmp_path)
    last = shape.answers[-1].partition("=")[0].rpartition(".")[2]
    assert main(["import", "--guess", str(log), "--map", str(map_), "--answer", *shape.answers[:-1]]) == 0
    text = map_.read_text(encoding="utf-8")
    [line] = [number for number, it in enumerate(text.splitlines(), 1) if '= "?"' in it]
    capsys.readouterr()
    assert main(["import", str(log), "--map", str(map_), "--data", str(tmp_path / "data")]) == 2
    told = capsys.readouterr().err
    assert f"line {line}: " in told
    assert f".{last} = '?': only a person can know; " in told.replace('"?"', "'?'")
    assert not (tmp_path / "data" / "visit.sqlite").exists()


def test_a_change_of_the_clocks_is_asked_for_and_then_followed(tmp_path: Path) -> None:
    """Without a zone nothing tells which hour it was; with it the hour that comes twice is told apart.

    Clocks in New York went back on 2026-11-01 at 06:00 UTC (tz database).
    """
    minutes = [(0, m) for m in (58, 59)] + [(1, m) for m in range(60)] * 2 + [(2, 0)]
    rows = [f"2026-11-01 {hour:02}:{minute:02}:00,36.0,50.0" for hour, minute in minutes]
    log, map_ = tmp_path / "log.csv", tmp_path / "map.toml"
    log.write_text("Time,Suction (psig),Suction line (degF)\n" + "\n".join(rows))
    assert "time.zone" in questions(guess(log).text)
    words = [*UNIT, *ACCURATE, "zone=America/New_York", "value=sample"]
    assert main(["import", "--guess", str(log), "--map", str(map_), "--answer", *words]) == 0
    packs = brought_in(log, map_, tmp_path / "data")
    assert len(packs) == 123
    assert packs[-1].time_s - packs[0].time_s == 122 * 60.0
    assert packs[2].time_s == 1793509200.0  # date -u -d 2026-11-01T05:00:00 +%s


def test_columns_that_no_probe_reads_are_left_and_named(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    log = tmp_path / "log.csv"
    names = ["Time", "Sat. suction temp (degF)", "Suction pressure set point (psig)", "Discharge air temp (degF)"]
    names += ["Superheat (degF)", "Suction pressure (psig)", "Indoor fan current (A)", "Suction pressure max (psig)"]
    log.write_text(
        ",".join(names) + "\n" + f"{T0}Z,40,60,55,10,68.5,3,70\n" * 1 + "2026-06-01T14:00:01Z,40,60,55,10,68.6,3,70\n"
    )
    found = guess(log)
    assert list(found.left) == [names[at] for at in (1, 2, 4, 7)]
    assert list(found.taken) == [
        "'Discharge air temp (degF)' is supply_air_temperature, degF",
        "'Suction pressure (psig)' is suction_pressure, psig gauge",
        "'Indoor fan current (A)' is blower_current, A",
    ]
    assert main(["import", "--guess", str(log), "--map", str(tmp_path / "map.toml")]) == 0
    told = capsys.readouterr().out
    assert "'Superheat (degF)' is not read" in told
    assert "  unit.refrigerant: the one on the nameplate" in told


def test_an_answer_that_is_for_none_or_several_is_told(tmp_path: Path) -> None:
    log, _ = proposed(SHAPES["gauge or absolute unsaid"], tmp_path)
    text = guess(log).text
    for answer, wrong in (
        ("colour=red", "is for none of time.zone, "),
        ("zone", "is for any of time.zone; KEY=WORD was expected"),
        ("zone=", "is for any of time.zone; KEY=WORD was expected"),
        ("accuracy=1psi", "is for any of usual.pressure.accuracy, usual.temperature.accuracy"),
    ):
        with pytest.raises(AnswerError, match=wrong):
            answered(text, [answer], {})
    assert main(["import", "--guess", str(log), "--answer", "colour=red"]) == 2


def test_our_own_export_without_what_stood_beside_it_asks_only_for_unit_and_site(tmp_path: Path) -> None:
    names = ["time", "sequence", "session", "epoch", "monotonic_s", "unsaved_packs"]
    for name, unit, spread in (
        ("suction_pressure", "pa_absolute", "pa"), ("suction_line_temperature", "degc", "k"), ("superheat", "k", "k"),
    ):  # fmt: skip
        names += [f"{name}_{unit}", f"{name}_quality", f"{name}_standard_uncertainty_{spread}", f"{name}_age_s"]
        names += [f"{name}_reason"]
    cells = "349539.0,ok,3447.4,0.0,,10.0,ok,0.25,0.0,,4.6,ok,0.4,0.0,"
    log = tmp_path / "visit.csv"
    log.write_text(
        ",".join(names) + f"\n{T0}.000Z,1,1,0,0.0,0,{cells}\n2026-06-01T14:00:00.250Z,2,1,0,0.25,0,{cells}\n"
    )
    found = guess(log)
    assert questions(found.text) == ["site.elevation", "unit.tag", "unit.refrigerant", "unit.metering_device"]
    (tmp_path / "map.toml").write_text(answered(found.text, UNIT, {}), encoding="utf-8")
    first = brought_in(log, tmp_path / "map.toml", tmp_path / "data")[0]
    assert first.readings["suction_pressure"].value == 349539.0
    assert first.readings["suction_pressure"].standard_uncertainty == 3450.0
    assert first.readings["suction_line_temperature"].value == 283.15
