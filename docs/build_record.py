"""Writes docs/record.md from the tables that the migrations make. Run as `python -m docs.build_record`."""

import re
import sqlite3
from collections.abc import Iterator
from contextlib import closing
from pathlib import Path

from ingest.record.migrations import STEPS, migrate

PAGE = Path(__file__).with_name("record.md")

OPENING = """# The record

One SQLite 3 file for each rig, in WAL mode with `synchronous=FULL`. One daemon writes it; anybody may read it
meanwhile, opened with `mode=ro`. `user_version` is {version}: the number of migrations it has been through. A newer
program brings an older record forward when it opens it, each step whole or not at all; an older program refuses a newer
record.

Beside `visit.sqlite` there are, while a daemon runs, `visit.sqlite-wal` and `visit.sqlite-shm`, which belong to it, and
`visit.sqlite.lock`, which tells the process that writes. `visit.damaged-*.sqlite` is a record that was damaged or
overwritten, left as it was found; the new one goes on with its numbers, its visit at the same unit and the register,
and a visit that was signed has its end there too. `visit.found-*.sqlite` is a file that stood in its place.

A session whose `boot` is `imported` was brought in from a log (docs/import.md), one of `replay` is a visit played again
(docs/export.md). docs/export.md has how to get a visit out, and how to read one as arrays.

Times are seconds since 1970. Packs are SenML (RFC 8428) and marks JSON, as docs/asyncapi.yaml describes them, byte for
byte as they were published. Old packs that every sink has acknowledged become chunks, about a minute each: JSON by
zlib, columns of whole numbers from which `ingest.record.chunks.from_chunk` makes the same bytes again. Numbers of packs
and sessions never come twice, not even in a record that took the place of a damaged one, of one from a copy, or of one
from which something was erased: `packs given` and `sessions given`, among the cursors, tell how far they went.

## To keep and to erase

Nothing is erased by itself. `dewline backup visit.sqlite copy.sqlite` copies the record while a daemon writes it, and
`dewline restore copy.sqlite visit.sqlite` puts a copy in its place while none does: what was there stays beside it as
`visit.before-restore-*.sqlite`.

`dewline erase visit.sqlite` takes everything that people said, wrote, drew, photographed and read at visits: of one, of
all at a unit, or of all before a day. The file and its log then hold none of it. What refrigerant was moved stays for
five years, without a name: it is of the circuit, and the law wants it kept (40 CFR 82.157(l) and 84.106(l), 3 years;
(EU) 2024/573, Art. 7, 5 years, from memory). A row of `erasures` stays of each visit. What was published, printed or
copied before is beyond its reach.

## A year of it

1,500 visits to 300 units, with 115,000 marks and 184 million readings, take 480 MB. `make year` makes such a record and
measures it. On two cores that much else kept busy, a rig began in it in 0.9 s (0.3 s of a core), any visit was opened
in 0.3 s (0.1 s), what is remembered of a unit in 0.05 s, and a visit was reported as PDF in 9 s (2.4 s).

This page is written by `python -m docs.build_record` from the migrations.
"""


def page() -> str:
    """Describe every table and its columns, with the words that stand beside them in the migrations."""
    words = dict(_words())
    with closing(sqlite3.connect(":memory:", isolation_level=None)) as database:
        migrate(database)
        tables = [name for (name,) in database.execute("SELECT name FROM sqlite_schema WHERE type = 'table'")]
        parts = [OPENING.format(version=len(STEPS)), *(_table(database, name, words) for name in tables)]
    return "\n".join(parts)


def _words() -> Iterator[tuple[tuple[str, str], str]]:
    """Give what the migrations say of a column, newest last."""
    for statement in (statement for step in STEPS for statement in step):
        made = re.match(r"CREATE TABLE (\w+)", statement)
        for column, said in re.findall(r"^\s+(\w+) [^\n]*?--\s*(.+)$", statement, re.MULTILINE) if made else ():
            yield (made[1] if made else "", column), said


def _table(database: sqlite3.Connection, name: str, words: dict[tuple[str, str], str]) -> str:
    rows = [f"## {name}\n", "| column | type | |", "|---|---|---|"]
    foreign = {row[3]: f"{row[2]}.{row[4]}" for row in database.execute(f"PRAGMA foreign_key_list({name})")}
    for _, column, kind, required, _, key in database.execute(f"PRAGMA table_info({name})"):
        refers = f"in {foreign[column]}" if column in foreign else ""
        said = [words.get((name, column), ""), "key" if key else "", refers]
        optional = "" if required or key else ", may be NULL"
        rows.append(f"| `{column}` | {kind.lower()}{optional} | {'; '.join(filter(None, said))} |")
    return "\n".join(rows) + "\n"


if __name__ == "__main__":
    PAGE.write_text(page(), encoding="utf-8")
