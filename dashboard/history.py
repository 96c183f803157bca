"""The past of this visit from the rig's record, read only, so that a page opened late shows how it came to this."""

import sqlite3
from pathlib import Path

from dashboard.errors import HistoryError
from dashboard.ring import Ring
from ingest.wire.messages import MessageError, decode_pack

_NEWEST_PACKS = (
    "SELECT payload FROM (SELECT sequence, payload FROM packs ORDER BY sequence DESC LIMIT ?) ORDER BY sequence"
)


def read_record(path: Path, capacity: int) -> Ring:
    """Read the newest packs of a record into a ring. Takes seconds for a long visit: run it in a thread.

    What the recorder has compacted, hours ago, is left out: the record's own export gives it.

    Raises:
        HistoryError: there is no record at the path, or it is not one that this version reads.

    """
    ring = Ring(capacity)
    try:
        connection = sqlite3.connect(f"{path.resolve().as_uri()}?mode=ro", uri=True)
        try:
            for (payload,) in connection.execute(_NEWEST_PACKS, (capacity,)):
                ring.append(decode_pack(payload))
        finally:
            connection.close()
    except (sqlite3.Error, MessageError) as error:
        raise HistoryError(f"{path}: {error}. The page shows only what it hears from now on") from error
    return ring
