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

import msgspec
from platformdirs import user_cache_path

from dashboard.settings import PagePlace

logger = logging.getLogger(__name__)

_ANSWERS_WITHIN_S = 1.0


class _Note(msgspec.Struct, frozen=True):
    """Where a page is, as `PagePlace` has it, with paths as text."""

    data_directory: str
    host: str
    port: int
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
        file.write_bytes(msgspec.json.encode(note))
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
    for file in sorted(_folder().glob("page-*.json")):
        try:
            if hasattr(os, "getuid") and file.stat().st_uid != os.getuid():
                continue
            note = msgspec.json.decode(file.read_bytes(), type=_Note)
        except (OSError, msgspec.MsgspecError, UnicodeDecodeError) as error:
            logger.debug("%s is no note of a page: %s", file, error)
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


def _answers(place: PagePlace) -> bool:
    here = {"0.0.0.0": "127.0.0.1", "::": "::1"}.get(place.host, place.host)  # noqa: S104 - it is asked, not listened on
    try:
        with socket.create_connection((here, place.port), _ANSWERS_WITHIN_S):
            return True
    except OSError:
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
