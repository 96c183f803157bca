"""What stands beside a visit that went out as CSV, so that it comes in again without a question."""

from pathlib import Path
from typing import Literal

import msgspec

from ingest.record.errors import RecordError
from ingest.record.reading import RecordedChannel
from ingest.whole_file import read_whole
from ingest.wire.messages import UnitAbout

LARGEST_BYTES = 1024 * 1024
"""More than the channels of any rig take."""


class Exported(msgspec.Struct, frozen=True, kw_only=True):
    """The unit of the visit as it was in view, and how each channel was measured; in SI.

    first_s, last_s: between them are all its packs [s since 1970]; both None where there is none.
    """

    format: Literal["dewline readings 1"] = "dewline readings 1"
    visit: str
    unit: UnitAbout
    channels: list[RecordedChannel]
    first_s: float | None  # JSON has no infinity
    last_s: float | None


def beside(csv: Path) -> Path:
    """Name the file that stands beside a CSV.

    >>> beside(Path("roof/visit.csv"))
    PosixPath('roof/visit.csv.json')
    """
    return csv.with_name(f"{csv.name}.json")


def read_beside(csv: Path) -> Exported | None:
    """Read it; None where there is none.

    Raises:
        RecordError: it cannot be read.

    """
    path = beside(csv)
    try:
        return msgspec.json.decode(read_whole(path, LARGEST_BYTES), type=Exported)
    except FileNotFoundError:
        return None
    except OSError as error:
        raise RecordError(f"{not_of_an_export(csv)}: {error.strerror or error}. {BRING_ANEW}") from error
    except (msgspec.MsgspecError, UnicodeError, RecursionError) as error:
        raise RecordError(f"{not_of_an_export(csv)}: {error}. {BRING_ANEW}") from error


def not_of_an_export(csv: Path) -> str:
    """Say that the file beside a CSV cannot be what an export wrote there."""
    return f"{beside(csv)} is not what an export writes beside {csv.name}"


BRING_ANEW = "Export the visit anew, or give a map of the CSV (--guess proposes one)"
