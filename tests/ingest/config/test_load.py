"""The configuration: what a good one means in SI, and what is said of bad ones."""

import os
import re
from datetime import date, timedelta
from pathlib import Path

import pytest

from ingest.checking.structure import suggestion
from ingest.config.load import ConfigError, load, resolve
from ingest.kinds.mqtt import MqttConfig
from ingest.kinds.serial_lines import SerialLinesConfig
from tests.kinds import build
from tests.rigs import make_rig, write_configuration

BAD = sorted((Path(__file__).parents[2] / "bad_configurations").glob("*.toml"))


@pytest.mark.parametrize("path", BAD, ids=lambda path: path.stem)
def test_a_bad_configuration_is_told_in_full(path: Path) -> None:
    with pytest.raises(ConfigError) as caught:
        load(path)
    said = str(caught.value).replace(f"{path.parent.resolve()}/", "").replace(str(path.parent.resolve()), "DIRECTORY")
    assert said == path.with_suffix(".txt").read_text(encoding="utf-8").rstrip("\n")


@pytest.mark.parametrize("written", ["TXV", "txv", "Fixed_Orifice"])
def test_a_metering_device_is_known_however_its_letters_are_written(written: str, tmp_path: Path) -> None:
    path = write_configuration(tmp_path)
    text = path.read_text(encoding="utf-8")
    path.write_text(re.sub(r'metering_device = "\w+"', f'metering_device = "{written}"', text), encoding="utf-8")
    assert load(path).unit.metering_device == written.lower()


def test_there_are_bad_configurations() -> None:
    assert len(BAD) >= 20


def test_a_file_that_is_not_there_is_told(tmp_path: Path) -> None:
    with pytest.raises(ConfigError, match="cannot be read: No such file or directory"):
        load(tmp_path / "rig.toml")


def test_a_file_that_is_not_text_is_told(tmp_path: Path) -> None:
    path = tmp_path / "rig.toml"
    path.write_bytes(b"\xff\xfe[rig]")
    with pytest.raises(ConfigError, match="is not TOML"):
        load(path)


UNFIT = {
    "lists in lists": (b"a=" + b"[" * 3000 + b"]" * 3000, "is nested too deeply"),
    "lists that never close": (b"a=" + b"[" * 3000, "is nested too deeply"),
    "lists beyond what is read": (b"a=" + b"[" * 100 + b"]" * 100, "is nested too deeply"),
    "tables in tables": (b"a={" + b"a={" * 3000, "is nested too deeply"),
    "a dotted key": (b"a" + b".a" * 3000 + b"=1", "is nested too deeply"),
    "a number without end": (b"a=" + b"9" * 6000, "is not TOML: "),
    "huge": (b"#" * 2_000_000, "it is too large; at most 1000000 bytes"),
    "binary": (bytes(range(256)), "is not TOML: "),
    "NUL": (b'a="b"\n\0', "is not TOML: "),
    "Latin-1": ('a="Kälte"'.encode("latin-1"), "is not TOML: "),
    "byte order mark": (b"\xef\xbb\xbf[rig]", "begins with a byte order mark"),
}


@pytest.mark.parametrize("name", UNFIT)
def test_a_file_that_cannot_be_read_is_told_in_one_line(name: str, tmp_path: Path) -> None:
    content, wrong = UNFIT[name]
    path = tmp_path / "rig.toml"
    path.write_bytes(content)
    with pytest.raises(ConfigError) as caught:
        load(path)
    (problem,) = caught.value.problems
    assert str(problem).startswith(f"the file: {wrong}")
    assert len(str(problem).splitlines()) == 1
    assert len(str(caught.value)) < 400


@pytest.mark.parametrize("name", ["directory", "pipe", "device"])
def test_what_is_no_file_is_told_at_once(name: str, tmp_path: Path) -> None:
    path = tmp_path / "rig.toml"
    if name == "directory":
        path.mkdir()
    elif name == "pipe":
        os.mkfifo(path)
    else:
        path = Path("/dev/zero")
    with pytest.raises(ConfigError, match=rf"the file: it is a .*{name}.*; a file was expected"):
        load(path)


def test_a_name_that_shows_nothing_is_none(tmp_path: Path) -> None:
    path = write_configuration(tmp_path)
    text = path.read_text()
    name = re.findall(r'\[\[instrument\]\]\nname = "(.*)"', text)[0]
    path.write_text(text.replace(f'name = "{name}"', 'name = "\u200b\u2060"'))
    with pytest.raises(ConfigError, match="a name was expected"):
        load(path)


def test_a_device_is_no_record(tmp_path: Path) -> None:
    path = write_configuration(tmp_path)
    path.write_text(path.read_text().replace('"bench.sqlite"', '"/dev/full"'))
    with pytest.raises(ConfigError, match=r'rig\.record = "/dev/full": is a device or a pipe; the name of a file'):
        load(path)


def test_the_configuration_itself_is_no_record(tmp_path: Path) -> None:
    path = write_configuration(tmp_path)
    path.write_text(path.read_text().replace('"bench.sqlite"', '"here/rig.toml"'))
    (tmp_path / "here").symlink_to(tmp_path)
    with pytest.raises(ConfigError, match=r'rig\.record = "here/rig\.toml": is this file itself'):
        load(path)


@pytest.mark.parametrize(
    ("days", "is_wrong"), [(-1, False), (1, False), (366, False), (367, True)], ids="{} days from now".format
)
def test_a_calibration_in_the_future_is_none(days: int, is_wrong: bool, tmp_path: Path) -> None:
    """A year is left for a small computer whose clock stands where it was last switched off."""
    path = write_configuration(tmp_path)
    calibrated = date.today() + timedelta(days=days)  # noqa: DTZ011
    path.write_text(path.read_text().replace('"0.9 degF"', f'"0.9 degF"\ncalibrated = "{calibrated}"'))
    if is_wrong:
        with pytest.raises(ConfigError, match=r"is in the future: .*; correct the date, or the clock"):
            load(path)
    else:
        load(path)


@pytest.mark.parametrize(("offset", "is_wrong"), [("9 degF", False), ("-9.1 degF", True), ("32 degF", True)])
def test_an_offset_far_beyond_the_accuracy_is_a_mistake(offset: str, is_wrong: bool, tmp_path: Path) -> None:
    path = write_configuration(tmp_path)
    path.write_text(path.read_text().replace('"0.9 degF"', f'"0.9 degF"\noffset = "{offset}"'))
    if is_wrong:
        with pytest.raises(ConfigError, match=r"at most 10 times the accuracy was expected, which is 0\.9 degF"):
            load(path)
    else:
        load(path)


@pytest.mark.parametrize(
    ("told", "wrong"),
    [
        ('columns = ["pressure", "temperature", "pressure"]', r"columns.*none twice"),
        ('columns = ["", ""]', r'columns.*"" leaves one out'),
        ('columns = ["pressure", "temperature"], pairs = "="', r"pairs.*`columns` is given too"),
        ('columns = ["pressure", "temperature"], decimal = "comma"', r"decimal.*`separator`"),
        ('separator = "comma", decimal = "comma"', r"separator.*decimal sign"),
        ('pattern = "(?P<pressure>[0-9]+"', r"pattern.*missing \)"),
        ('pattern = "([0-9]+) psi"', r"pattern.*names no group"),
        ('pattern = "(?P<pressure>[0-9]+)(?=psi)"', r"pattern.*no look-around"),
        ('ask = "°?"', r"ask.*ASCII"),
        ('columns = ["pressure", "temperature"], separator = "tab", unsteady = ["US"], ask = "R", ask_end = "cr"', ""),
        ("pattern = '(?P<pressure>[0-9.]+) (?P<temperature>[0-9.]+)'", ""),
    ],
)
def test_what_is_told_of_lines_is_tried_before_any_comes(told: str, wrong: str, tmp_path: Path) -> None:
    path = write_configuration(tmp_path)
    before = f'{{ kind = "serial_lines", port = "{tmp_path}/low", baud = 9600 }}'
    text = path.read_text(encoding="utf-8")
    assert before in text
    path.write_text(text.replace(before, before.replace(" }", f", {told} }}"), 1), encoding="utf-8")
    if not wrong:
        assert load(path).instruments
        return
    with pytest.raises(ConfigError, match=wrong):
        load(path)


def test_the_record_and_the_brokers_files_lie_beside_the_configuration(tmp_path: Path) -> None:
    (tmp_path / "password").write_text("x")
    path = write_configuration(tmp_path, 'url = "mqtts://van@192.0.2.7"\npassword_file = "password"')
    config = load(path)
    assert config.broker.password_file == str(tmp_path / "password")
    assert config.broker.certificate_file == ""
    assert resolve(config, path).record == tmp_path / "bench.sqlite"


def test_the_examples_for_contributors_are_good(tmp_path: Path) -> None:
    text = (Path(__file__).parents[3] / "DEVELOPERS.md").read_text(encoding="utf-8")
    (example,) = re.findall(r"```toml\n(.*?)```", text, re.DOTALL)
    path = write_configuration(tmp_path)
    rig = path.read_text().partition("[[instrument]]")[0]
    path.write_text(rig + example)
    config = load(path)
    assert len(config.instruments) >= 4
    for instrument in config.instruments:
        build(instrument)


def test_the_files_of_a_link_lie_beside_the_configuration_too(tmp_path: Path) -> None:
    (tmp_path / "password").write_text("x")
    (tmp_path / "authority.pem").write_text("x")
    path = write_configuration(tmp_path)
    link = """{ kind = "mqtt", url = "mqtts://sam@192.0.2.7", password_file = "password",
    authority_file = "authority.pem", values = { pressure = { topic = "p" }, temperature = { topic = "t" } } }"""
    before = f'{{ kind = "serial_lines", port = "{tmp_path}/low", baud = 9600 }}'
    path.write_text(path.read_text().replace(before, link.replace("\n", " ")))
    first, second = load(path).instruments
    assert isinstance(first.link, MqttConfig)
    assert first.link.password_file == str(tmp_path / "password")
    assert first.link.authority_file == str(tmp_path / "authority.pem")
    assert isinstance(second.link, SerialLinesConfig)


def test_values_come_out_in_si(tmp_path: Path) -> None:
    rig = make_rig(tmp_path)
    assert rig.barometric_pressure_pa == pytest.approx(101_325)  # standard atmosphere at 0 m, ISO 2533
    assert rig.unit.nameplate_charge_kg == pytest.approx(3.401943, abs=1e-6)  # NIST SP 811: 0.45359237 kg/lb
    assert rig.unit.target_subcooling_dk == pytest.approx(50 / 9)
    assert rig.unit.compressor_rla_a == 12.0
    assert rig.unit.target_superheat_dk is None
    suction = rig.channels[0]
    assert suction.accuracy == pytest.approx(6894.757, abs=1e-3)  # NIST SP 811
    assert suction.standard_uncertainty == pytest.approx(6894.757 / 2, abs=1e-3)
    assert suction.corrected(118.0) == pytest.approx(118 * 6894.757, rel=1e-6)
    assert rig.channels[1].corrected(41.0) == pytest.approx(278.15)
    assert rig.instruments[0].interval_s == 0.5
    assert rig.instruments[0].link == "serial_lines"


def test_a_measured_barometric_pressure_is_known_better_than_one_from_the_elevation(tmp_path: Path) -> None:
    from_elevation = make_rig(tmp_path)
    path = write_configuration(tmp_path)
    text = path.read_text().replace('elevation = "0 m"', 'barometric_pressure = "29.92 inHg"')
    path.write_text(text)
    measured = resolve(load(path), path)
    assert measured.barometric_pressure_pa == pytest.approx(101_321, abs=1)  # NIST SP 811: 3386.389 Pa/inHg
    assert measured.barometric_standard_uncertainty_pa < from_elevation.barometric_standard_uncertainty_pa


def test_a_calibration_is_in_the_instruments_own_unit(tmp_path: Path) -> None:
    path = write_configuration(tmp_path)
    calibration = 'accuracy = "0.9 degF"\nslope = 1.01\noffset = "-0.5 K"\ncalibrated = "2026-03-31"'
    path.write_text(path.read_text().replace('accuracy = "0.9 degF"', calibration))
    channel = resolve(load(path), path).channels[1]
    # by hand: 1.01 x 50 °F - 0.9 °F = 49.6 °F = 9.7778 °C
    assert channel.corrected(50.0) == pytest.approx(273.15 + 17.6 * 5 / 9)
    assert channel.calibrated_on == date(2026, 3, 31)
    assert channel.about().calibrated == "2026-03-31"


def test_a_suggestion_is_made_only_where_a_word_is_near() -> None:
    assert suggestion("chanel", ["channel", "field"]) == '; did you mean "channel"?'
    assert suggestion("xyz", ["channel", "field"]) == "."
