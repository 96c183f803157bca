"""Which pages are served on this machine: each leaves a note of its place, so that an invitation can be made beside it.

A note holds no secret. One whose page does not answer, such as of a page that was killed, or that is not this user's,
does not count.
"""

import logging
import os
import socket
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from pathlib import Path
from typing import Annotated

import msgspec
from platformdirs import user_cache_path

from dashboard.own_files import read_own
from dashboard.settings import PagePlace
from ingest.wire.texts import LONGEST_TEXT, fault

logger = logging.getLogger(__name__)

_ANSWERS_WITHIN_S = 1.0
MOST_NOTES = 64
"""More pages than one user serves on a machine: each is asked whether it answers. Common practice, no source."""


class _Note(msgspec.Struct, frozen=True):
    """Where a page is, as `PagePlace` has it, with paths as text."""

    data_directory: str
    host: str
    port: Annotated[int, msgspec.Meta(ge=1, le=65_535)]
    certificate: str
    public_name: str
    relays: tuple[str, ...]


def _folder() -> Path:
    return user_cache_path("dewline") / "pages"


@contextmanager
def leaving_a_note(place: PagePlace) -> Iterator[None]:
    """Leave a note of a page for as long as the block runs. Where none can be left, that is told, and no more."""
    note = _Note(
        data_directory=str(place.data_directory.resolve()),
        host=place.host,
        port=place.port,
        certificate=str(place.certificate.resolve()) if place.certificate else "",
        public_name=place.public_name,
        relays=tuple(sorted(place.relays)),
    )
    file = _folder() / f"page-{place.port}.json"  # the next page at this port takes the place of one that was killed
    try:
        _folder().mkdir(mode=0o700, parents=True, exist_ok=True)
        unfinished = file.with_suffix(".writing")
        unfinished.unlink(missing_ok=True)  # whatever somebody put there
        unfinished.write_bytes(msgspec.json.encode(note))
        unfinished.replace(file)
    except OSError as error:
        logger.info("no note of the page can be left in %s: %s; dewline invite needs its options", _folder(), error)
    try:
        yield
    finally:
        with suppress(OSError):
            file.unlink()


def served_places() -> list[PagePlace]:
    """Give the places of the pages of this user that answer now."""
    places = {}
    files = sorted(_folder().glob("page-*.json"), key=_left_s, reverse=True)
    if len(files) > MOST_NOTES:
        logger.warning("%s has %d notes, and %d are read: remove those of no page", _folder(), len(files), MOST_NOTES)
    for file in files[:MOST_NOTES]:
        try:
            if hasattr(os, "getuid") and file.stat().st_uid != os.getuid():
                continue
            note = _read(file)
        except (OSError, msgspec.MsgspecError, ValueError, RecursionError) as error:
            logger.warning("%s is no note of a page, and does not count: %s. Remove it", file, error)
            continue
        place = PagePlace(
            data_directory=Path(note.data_directory),
            host=note.host,
            port=note.port,
            certificate=Path(note.certificate) if note.certificate else None,
            public_name=note.public_name,
            relays=frozenset(note.relays),
        )
        if _answers(place):
            places[place.host, place.port] = place
    return list(places.values())


def _left_s(file: Path) -> float:
    """Tell when a note was left [s since 1970], so that those of killed pages crowd out none that is served."""
    try:
        return file.lstat().st_mtime
    except OSError:
        return 0.0


def _read(file: Path) -> _Note:
    note = msgspec.json.decode(read_own(file), type=_Note)
    for text in (note.data_directory, note.host, note.certificate, note.public_name, *note.relays):
        if wrong := fault(text, LONGEST_TEXT):
            raise ValueError(f"a text in it {wrong}")
    return note


def _answers(place: PagePlace) -> bool:
    here = {"0.0.0.0": "127.0.0.1", "::": "::1"}.get(place.host, place.host)  # noqa: S104 - it is asked, not listened on
    try:
        with socket.create_connection((here, place.port), _ANSWERS_WITHIN_S):
            return True
    except (OSError, UnicodeError):  # no name of a host has such labels (RFC 1035, section 2.3.4)
        return False


def command_for(place: PagePlace, *asked: str) -> str:
    """Write out the command for an invitation to this page, with the options that were asked for beside its place."""
    words = ["dewline invite", *asked, f"--port {place.port}", f"--data-directory '{place.data_directory}'"]
    if place.host != PagePlace(data_directory=place.data_directory).host:
        words.append(f"--host {place.host}")
    if place.certificate:
        words.append(f"--certificate '{place.certificate}'")
    if place.public_name:
        words.append(f"--public-name {place.public_name}")
    return " ".join([*words, *(f"--relay {relay}" for relay in sorted(place.relays))])
