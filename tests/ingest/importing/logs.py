"""Invented logs and their maps."""

from pathlib import Path

from ingest.importing.bring_in import Taken, bring_in
from ingest.importing.log_map import read_map
from ingest.record.reading import RecordFile
from ingest.wire.messages import Pack

MAP = """
[log]
interval = "1 s"

[time]
column = "Time"
format = "iso"
zone = "UTC"
value = "sample"

[site]
barometric_pressure = "101325 Pa"

[unit]
tag = "RTU-9"
refrigerant = "R-134a"
metering_device = "txv"

[[channel]]
column = "Suction"
channel = "suction_pressure"
unit = "psi"
reference = "gauge"
accuracy = "1 psi"

[[channel]]
column = "Line"
channel = "suction_line_temperature"
unit = "degF"
accuracy = "0.9 degF"
"""
LOG = """Time,Suction,Line
2026-06-01T14:00:00,35.0,50.0
2026-06-01T14:00:01,35.1,50.2
2026-06-01T14:00:02,35.2,50.4
"""


class Folder:
    """A folder with a log, its map, and the record that it goes into."""

    def __init__(self, path: Path) -> None:
        self.log, self.map, self.record = path / "log.csv", path / "map.toml", path / "data" / "visit.sqlite"
        self.written(LOG)
        self.mapped()

    def written(self, text: str, encoding: str = "utf-8") -> None:
        self.log.write_bytes(text.encode(encoding))

    def mapped(self, *changes: tuple[str, str]) -> None:
        text = MAP
        for before, after in changes:
            assert before in text
            text = text.replace(before, after)
        self.map.write_text(text, encoding="utf-8")

    def bring_in(self, *, judged: bool = False) -> Taken:
        return bring_in(self.log, read_map(self.map, self.record), judged=judged)

    def packs(self, visit: str | None = None) -> list[Pack]:
        file = RecordFile(self.record)
        return list(file.visit_packs(visit or file.visits()[-1].id))

    def values(self, channel: str) -> list[float | None]:
        return [pack.readings[channel].value for pack in self.packs()]
