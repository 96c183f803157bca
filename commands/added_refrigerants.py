"""The refrigerants that were added on this machine, put on the shelf before a command runs."""

import os
import sys
from pathlib import Path

REFRIGERANTS = "DEWLINE_REFRIGERANTS"
"""The folder of the refrigerants that were added, where it is not within the user's data."""


def put_added_on_shelf() -> bool:
    """Let the command know them too; returns whether it may go on."""
    place = folder()
    if not place.is_dir():
        return True
    from ingest.added_refrigerants import AddedFileError, put_on_shelf

    try:
        put_on_shelf(place)
    except AddedFileError as error:
        print(f"dewline: {error}", file=sys.stderr)
        return False
    return True


def folder() -> Path:
    """Give where they are kept."""
    from platformdirs import user_data_path

    told = os.environ.get(REFRIGERANTS)
    return Path(told) if told else user_data_path("dewline") / "refrigerants"
