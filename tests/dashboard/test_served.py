"""An invitation beside a page that runs, without telling where it is."""

import asyncio
import json
import os
import socket
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path

import pytest

from dashboard.served import leaving_a_note, served_places
from dashboard.settings import PagePlace
from dewline import main
from tests.lies import LIES, put
from tests.processes import eventually, running


@pytest.fixture(autouse=True)
def runtime(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """No page of anybody else's."""
    monkeypatch.setenv("XDG_CACHE_HOME", str(tmp_path))
    return tmp_path / "dewline" / "pages"


@contextmanager
def answering(place: PagePlace) -> Iterator[None]:
    with socket.create_server((place.host, place.port)), leaving_a_note(place):
        yield


def place(directory: Path, port: int) -> PagePlace:
    directory.mkdir()
    return PagePlace(data_directory=directory, port=port)


def test_the_one_page_that_is_served_is_found(
    tmp_path: Path, free_port: Callable[[], int], capsys: pytest.CaptureFixture[str]
) -> None:
    page = place(tmp_path / "bench", free_port())
    with answering(page):
        assert served_places() == [page]
        assert main(["invite"]) == 0
        assert f"http://127.0.0.1:{page.port}/join?" in capsys.readouterr().out
        assert main(["invite", "--revoke-all"]) == 0
    assert list(page.data_directory.iterdir())  # its secret, not that of the usual place
    assert served_places() == []


def test_of_several_the_commands_are_told_and_of_none_too(
    tmp_path: Path, free_port: Callable[[], int], capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("XDG_DATA_HOME", str(tmp_path / "usual"))
    first, second = place(tmp_path / "one", free_port()), place(tmp_path / "two", free_port())
    with answering(first), answering(second):
        assert main(["invite"]) == 2
        said = capsys.readouterr().err
        for page in (first, second):
            assert f"dewline invite --role lead --port {page.port} --data-directory '{page.data_directory}'" in said
        for asked in (["--role", "technician"], ["--revoke", "'Kim B'"], ["--revoke-all"]):
            assert main(["invite", *(it.strip("'") for it in asked)]) == 2
            assert f"dewline invite {' '.join(asked)} --port {first.port} " in capsys.readouterr().err
        assert main(["invite", "--port", str(first.port), "--data-directory", str(first.data_directory)]) == 0
    capsys.readouterr()
    assert main(["invite"]) == 2
    assert (
        f"dewline invite --role lead --port 8050 --data-directory '{tmp_path}/usual/dewline'" in capsys.readouterr().err
    )


def test_a_page_that_was_killed_and_nonsense_do_not_count(
    tmp_path: Path, runtime: Path, free_port: Callable[[], int]
) -> None:
    with leaving_a_note(place(tmp_path / "killed", free_port())):
        (runtime / "page-x.json").write_bytes(b"\xff")
        assert runtime.stat().st_mode & 0o77 == 0  # nobody else's business
        assert served_places() == []


async def test_the_dashboard_is_found_while_it_serves_and_leaves_nothing(
    tmp_path: Path, runtime: Path, free_port: Callable[[], int]
) -> None:
    port, directory = free_port(), tmp_path / "data"
    arguments = ["dashboard", "--broker", "mqtt://127.0.0.1:9", "--port", str(port), "--data-directory", str(directory)]

    async def is_found() -> bool:
        return [it.port for it in await asyncio.to_thread(served_places)] == [port]

    async with running(arguments, tmp_path / "log"):
        await eventually("the page is found", is_found)
    assert not await is_found()
    assert await asyncio.to_thread(lambda: list(runtime.iterdir())) == []


@pytest.mark.timeout(20)
@pytest.mark.parametrize("lie", LIES)
def test_what_is_no_note_does_not_count_and_is_told(
    tmp_path: Path, runtime: Path, free_port: Callable[[], int], caplog: pytest.LogCaptureFixture, lie: str
) -> None:
    runtime.mkdir(parents=True)
    put(lie, runtime / "page-1.json")
    page = place(tmp_path / "bench", free_port())
    put(lie, runtime / f"page-{page.port}.writing")
    if lie == "a directory":
        (runtime / f"page-{page.port}.writing").rmdir()
    with answering(page):
        assert served_places() == [page]
    assert "page-1.json is no note of a page, and does not count" in caplog.text


@pytest.mark.parametrize(
    ("name", "value"),
    [
        ("port", 65_536),
        ("port", 0),
        ("port", 1e308),
        ("host", "x" * 70_000),
        ("host", "a\0b"),
        ("host", "a" * 64),
        ("data_directory", "a\0b"),
        ("relays", ["\u202e"]),
        ("certificate", "x" * 70_000),
    ],
)
def test_a_note_of_no_place_does_not_count(runtime: Path, name: str, value: object) -> None:
    note = {
        "data_directory": "/tmp",
        "host": "127.0.0.1",
        "port": 9,
        "certificate": "",
        "public_name": "",
        "relays": [],
    }
    runtime.mkdir(parents=True)
    (runtime / "page-9.json").write_text(json.dumps({**note, name: value}))
    assert served_places() == []


def test_only_so_many_notes_are_asked_and_that_is_told(runtime: Path, caplog: pytest.LogCaptureFixture) -> None:
    runtime.mkdir(parents=True)
    for number in range(65):
        (runtime / f"page-{number}.json").write_text("{}")
    assert served_places() == []
    assert "65 notes, and 64 are read" in caplog.text


def test_a_page_is_found_however_many_were_killed_before_it(
    tmp_path: Path, runtime: Path, free_port: Callable[[], int]
) -> None:
    runtime.mkdir(parents=True)
    for number in range(64):
        (runtime / f"page-0{number}.json").write_text("{}")
        os.utime(runtime / f"page-0{number}.json", (1.0, 1.0))
    page = place(tmp_path / "bench", free_port())
    with answering(page):
        assert served_places() == [page]
