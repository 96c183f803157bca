"""The tables of the record, as the steps that lead to them.

Steps only go forward, each in one transaction: a step that fails leaves the record as it was. A step that was
released is never changed; what must change comes as a further step.
"""

import sqlite3
from collections.abc import Sequence

Step = Sequence[str]

STEPS: Sequence[Step] = (
    (
        """CREATE TABLE units (
            tag TEXT PRIMARY KEY,
            about TEXT NOT NULL          -- messages.UnitAbout as JSON, as of the newest session
        ) STRICT""",
        """CREATE TABLE visits (
            id TEXT PRIMARY KEY,
            unit TEXT NOT NULL REFERENCES units (tag),
            started_s REAL NOT NULL,
            ended_s REAL                 -- NULL while the visit is open
        ) STRICT""",
        """CREATE TABLE sessions (
            number INTEGER PRIMARY KEY,  -- one for each start of the daemon, from 1
            visit TEXT NOT NULL REFERENCES visits (id),
            rig TEXT NOT NULL,
            boot TEXT NOT NULL,
            started_s REAL NOT NULL,
            ended_s REAL                 -- NULL after a crash
        ) STRICT""",
        """CREATE TABLE instruments (
            session INTEGER NOT NULL REFERENCES sessions (number),
            name TEXT NOT NULL,
            link TEXT NOT NULL,
            interval_s REAL NOT NULL,
            PRIMARY KEY (session, name)
        ) STRICT""",
        """CREATE TABLE calibrations (
            session INTEGER NOT NULL,
            channel TEXT NOT NULL,
            instrument TEXT NOT NULL,
            unit TEXT NOT NULL,          -- what the instrument sends
            reference TEXT NOT NULL,     -- gauge, absolute, or empty
            accuracy REAL NOT NULL,      -- the maker's ± limit [SI]
            slope REAL NOT NULL,
            offset REAL NOT NULL,        -- in the instrument's unit
            calibrated TEXT NOT NULL,    -- a date, or empty
            PRIMARY KEY (session, channel),
            FOREIGN KEY (session, instrument) REFERENCES instruments (session, name)
        ) STRICT""",
        """CREATE TABLE packs (
            sequence INTEGER PRIMARY KEY, -- without gaps, over all sessions
            session INTEGER NOT NULL REFERENCES sessions (number),
            visit TEXT NOT NULL REFERENCES visits (id),
            time_s REAL NOT NULL,
            payload BLOB NOT NULL        -- the SenML pack, byte for byte as published
        ) STRICT""",
        "CREATE INDEX packs_by_time ON packs (visit, time_s)",
        """CREATE TABLE marks (
            number INTEGER PRIMARY KEY,  -- in the order in which they were recorded
            id TEXT NOT NULL UNIQUE,
            visit TEXT NOT NULL REFERENCES visits (id),
            session INTEGER NOT NULL REFERENCES sessions (number),
            kind TEXT NOT NULL,
            time_s REAL NOT NULL,
            payload BLOB NOT NULL        -- messages.Mark as JSON, byte for byte as published
        ) STRICT""",
        """CREATE TABLE cursors (
            sink TEXT PRIMARY KEY,       -- where packs or marks go: "mqtt packs", "mqtt marks"
            position INTEGER NOT NULL    -- everything up to here has been acknowledged
        ) STRICT""",
    ),
    (
        """CREATE TABLE chunks (
            first_sequence INTEGER PRIMARY KEY,
            last_sequence INTEGER NOT NULL,
            session INTEGER NOT NULL REFERENCES sessions (number),
            visit TEXT NOT NULL REFERENCES visits (id),
            first_s REAL NOT NULL,
            last_s REAL NOT NULL,
            data BLOB NOT NULL           -- ingest.record.chunks: the packs from first to last, to the byte
        ) STRICT""",
        "CREATE INDEX chunks_by_time ON chunks (visit, first_s)",
    ),
    (
        "ALTER TABLE calibrations RENAME TO calibrations_of_sessions",
        """CREATE TABLE calibrations (
            number INTEGER PRIMARY KEY,  -- in order; of a channel the newest counts
            session INTEGER NOT NULL,
            channel TEXT NOT NULL,
            instrument TEXT NOT NULL,
            unit TEXT NOT NULL,          -- what the instrument sends
            reference TEXT NOT NULL,     -- gauge, absolute, or empty
            accuracy REAL NOT NULL,      -- the maker's ± limit [SI]
            standard_uncertainty REAL NOT NULL, -- of one reading [SI]
            slope REAL NOT NULL,
            offset REAL NOT NULL,        -- in the instrument's unit
            calibrated TEXT NOT NULL,    -- a date, or empty
            since_s REAL NOT NULL,
            mark TEXT NOT NULL,          -- the id of the mark that tells who changed it; empty: as configured
            FOREIGN KEY (session, instrument) REFERENCES instruments (session, name)
        ) STRICT""",
        "CREATE INDEX calibrations_by_channel ON calibrations (session, channel, number)",
        """INSERT INTO calibrations
           (session, channel, instrument, unit, reference, accuracy, standard_uncertainty, slope, offset, calibrated,
            since_s, mark)
           SELECT session, channel, instrument, unit, reference, accuracy, accuracy / 2, slope, offset, calibrated,
            started_s, '' FROM calibrations_of_sessions JOIN sessions ON sessions.number = session ORDER BY session""",
        "DROP TABLE calibrations_of_sessions",
    ),
    (
        """CREATE TABLE advices (
            number INTEGER PRIMARY KEY,  -- in the order in which they were given
            visit TEXT NOT NULL REFERENCES visits (id),
            session INTEGER NOT NULL REFERENCES sessions (number),
            time_s REAL NOT NULL,
            grounds BLOB NOT NULL,       -- advice.rerun.Grounds as JSON, by zlib: what it rests on beside the packs
            payload BLOB NOT NULL        -- messages.Advice as published, by zlib
        ) STRICT""",
        "CREATE INDEX advices_by_session ON advices (session, number)",
    ),
    (
        """CREATE TABLE sheets (
            number INTEGER PRIMARY KEY,  -- in the order in which they were kept; of a unit the newest counts
            tag TEXT NOT NULL,
            sheet TEXT NOT NULL,         -- messages.Sheet as JSON
            since_s REAL NOT NULL,
            mark TEXT NOT NULL           -- the id of the mark that tells who described it; empty: configured, imported
        ) STRICT""",
        "CREATE INDEX sheets_by_tag ON sheets (tag, number)",
    ),
    (
        """CREATE TABLE photographs (
            id TEXT PRIMARY KEY REFERENCES marks (id), -- the mark that tells of it
            jpeg BLOB NOT NULL           -- turned upright and without what else stood in the file
        ) STRICT""",
    ),
    (
        """CREATE TABLE erasures (
            visit TEXT PRIMARY KEY REFERENCES visits (id), -- whose journal was erased; moves may be left of it
            digest TEXT NOT NULL,        -- of its journal, as it was
            marks INTEGER NOT NULL,      -- how many it had
            erased_s REAL NOT NULL,
            because TEXT NOT NULL,
            signed_digest TEXT NOT NULL  -- of the marks before the signature, as a signed page prints it; or empty
        ) STRICT""",
        """CREATE TABLE simulated (
            session INTEGER PRIMARY KEY REFERENCES sessions (number) -- whose readings came from a model of a unit
        ) STRICT""",
    ),
    ("CREATE INDEX marks_by_visit ON marks (visit, number)",),
)

WITH_CHUNKS = 2
"""The version that an older record has to reach before it holds any minute of packs."""
WITH_SHEETS = 5
"""Likewise any sheet."""
WITH_PHOTOGRAPHS = 6
"""Likewise any photograph."""
WITH_ERASURES = 7
"""Likewise any tombstone of a visit that was erased, and which sessions were simulated."""


class MigrationError(Exception):
    """The record cannot be brought to the tables this version works with."""


def migrate(database: sqlite3.Connection, steps: Sequence[Step] = STEPS) -> None:
    """Bring a record to the newest tables. The connection commits by itself (`isolation_level=None`).

    Raises:
        MigrationError: a newer version wrote this record.
        sqlite3.Error: a statement failed; the record is as before the step.

    """
    (version,) = database.execute("PRAGMA user_version").fetchone()
    if version > len(steps):
        raise MigrationError(f"it has version {version}; this program knows {len(steps)}: use a newer one")
    for number, step in enumerate(steps[version:], start=version + 1):
        database.execute("BEGIN IMMEDIATE")
        try:
            for statement in step:
                database.execute(statement)
            database.execute(f"PRAGMA user_version = {number}")
            database.execute("COMMIT")
        except sqlite3.Error:
            if database.in_transaction:
                database.execute("ROLLBACK")
            raise
