"""Places hoarded: requests that never end, streams that nobody reads. The technician's own page is served meanwhile."""

import asyncio
import logging
import socket
from collections.abc import Callable
from contextlib import suppress
from functools import partial
from pathlib import Path

import pytest

from dashboard.app import page_server
from dashboard.errors import FullError
from dashboard.hub import Hub
from dashboard.patience import PatientProtocol
from dashboard.roles import Visitor, visitor
from tests.page import request, serving_page, settings
from tests.processes import eventually

MOST_VIEWERS = 100
"""Five times the twenty that a page is measured with."""
MOST_OF_ONE = 24
"""More pages than anybody has open."""
KEPT_FOR_TECHNICIANS = 24
"""One person's share, that no crowd of leads takes."""

UNFINISHED = b"GET / HTTP/1.1\r\nHost: 127.0.0.1\r\nX-Slow: "
STREAM = "GET /api/stream?units=us HTTP/1.1\r\nHost: 127.0.0.1:{port}\r\n\r\n"


async def connect(port: int, said: bytes) -> tuple[asyncio.StreamReader, asyncio.StreamWriter]:
    reader, writer = await asyncio.open_connection("127.0.0.1", port)
    writer.write(said)
    await writer.drain()
    return reader, writer


NO_BODY = (
    b"POST /api/ask/note HTTP/1.1\r\nHost: 127.0.0.1:PORT\r\nOrigin: http://127.0.0.1:PORT\r\n"
    b"Content-Length: 9\r\n\r\n{"
)


@pytest.mark.parametrize("said", [b"", UNFINISHED, NO_BODY], ids=["silent", "half a head", "half a body"])
async def test_three_hundred_unfinished_requests_do_not_keep_the_technician_out(
    said: bytes, tmp_path: Path, free_port: Callable[[], int], caplog: pytest.LogCaptureFixture
) -> None:
    known = settings(tmp_path, free_port())
    async with serving_page(known):
        said = said.replace(b"PORT", str(known.port).encode())
        held = [await connect(known.port, said) for _ in range(300)]
        try:
            assert (await request(known, "GET", "/")).status == 200
            ended = sum(reader.at_eof() or _is_reset(reader) for reader, _ in held)
            assert ended >= 300 - 64 - 1  # those who hoard lose the oldest
        finally:
            for _, writer in held:
                writer.transport.abort()
    assert all("Traceback" not in record.getMessage() for record in caplog.records)


async def has_ended(reader: asyncio.StreamReader) -> bool:
    return reader.at_eof() or _is_reset(reader)


@pytest.mark.parametrize("held", [63, 64])
async def test_of_64_unfinished_requests_all_are_kept_and_for_one_more_the_oldest_goes(
    held: int, tmp_path: Path, free_port: Callable[[], int]
) -> None:
    known = settings(tmp_path, free_port())
    async with serving_page(known):
        waiting = [await connect(known.port, UNFINISHED) for _ in range(held)]
        try:
            assert (await request(known, "GET", "/")).status == 200  # while it arrives, it is one of them
            if held == 64:
                await eventually("the oldest is turned out", partial(has_ended, waiting[0][0]))
            assert [await has_ended(reader) for reader, _ in waiting[1:]] == [False] * (held - 1)
            assert await has_ended(waiting[0][0]) == (held == 64)
        finally:
            for _, writer in waiting:
                writer.transport.abort()


async def test_who_holds_most_loses_the_oldest_and_not_who_came_first(
    tmp_path: Path, free_port: Callable[[], int]
) -> None:
    known = settings(tmp_path, free_port())
    async with serving_page(known):
        first, own = await asyncio.open_connection("127.0.0.1", known.port, local_addr=("127.0.0.2", 0))
        own.write(UNFINISHED)
        hoarded = [await connect(known.port, UNFINISHED) for _ in range(66)]
        try:
            for reader, _ in hoarded[:3]:
                await eventually("the oldest of who holds most is turned out", partial(has_ended, reader))
            assert not await has_ended(first)
            assert not any([await has_ended(reader) for reader, _ in hoarded[3:]])
        finally:
            for writer in (own, *(writer for _, writer in hoarded)):
                writer.transport.abort()


async def test_a_request_has_ten_seconds_to_arrive_and_a_reader_twenty_to_go_on(
    tmp_path: Path, free_port: Callable[[], int]
) -> None:
    known = settings(tmp_path, free_port())
    loop = asyncio.get_running_loop()
    server = page_server(known, Hub(known.rig))
    serving = asyncio.create_task(server.serve())
    await eventually("the page is served", lambda: asyncio.sleep(0, server.started))
    before_s = loop.time()
    _, writer = await connect(known.port, UNFINISHED)
    await eventually("it is connected", lambda: asyncio.sleep(0, len(server.server_state.connections) == 1))
    (connection,) = server.server_state.connections
    assert isinstance(connection, PatientProtocol)
    assert connection._deadline is not None
    assert before_s + 10.0 <= connection._deadline.when() <= loop.time() + 10.0
    buffer_bytes = connection.transport.get_extra_info("socket").getsockopt(socket.SOL_SOCKET, socket.SO_SNDBUF)
    assert buffer_bytes == 2 * 65_536  # Linux gives twice what is asked for: socket(7)
    before_s = loop.time()
    connection.pause_writing()
    stalled = connection._stalled
    assert stalled is not None
    assert before_s + 20.0 <= stalled.when() <= loop.time() + 20.0
    connection.resume_writing()
    assert stalled.cancelled()
    deadline = connection._deadline
    writer.write(f"\r\nHost: 127.0.0.1:{known.port}\r\n\r\n".encode())
    await eventually("the request is whole", lambda: asyncio.sleep(0, deadline.cancelled()))
    writer.transport.abort()
    server.should_exit = True
    await serving


def _is_reset(reader: asyncio.StreamReader) -> bool:
    return isinstance(reader.exception(), ConnectionResetError)


async def test_a_request_that_does_not_arrive_in_time_is_let_go_and_one_that_does_is_served(
    tmp_path: Path, free_port: Callable[[], int], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("dashboard.patience.WaitingRoom.__init__.__defaults__", (64, 0.3))
    known = settings(tmp_path, free_port())
    async with serving_page(known):
        reader, writer = await connect(known.port, UNFINISHED)
        async with asyncio.timeout(20):
            with suppress(ConnectionResetError):
                assert await reader.read() == b""
        writer.transport.abort()
        whole = f"GET / HTTP/1.1\r\nHost: 127.0.0.1:{known.port}\r\n\r\n".encode()
        reader, writer = await connect(known.port, whole)
        assert (await reader.readline()).startswith(b"HTTP/1.1 200")
        writer.transport.abort()


async def test_two_hundred_streams_that_nobody_reads_do_not_keep_the_technician_out(
    tmp_path: Path, free_port: Callable[[], int]
) -> None:
    known = settings(tmp_path, free_port())
    hub = Hub(known.rig)
    async with serving_page(known, hub):
        held = []
        for _ in range(200):
            _, writer = await connect(known.port, STREAM.format(port=known.port).encode())
            writer.transport.pause_reading()  # type: ignore[attr-defined] # it is a socket's
            held.append(writer)
        try:
            assert (await request(known, "GET", "/")).status == 200
            reader, own = await connect(known.port, STREAM.format(port=known.port).encode())
            async with asyncio.timeout(20):
                assert b"event: hello" in await reader.readuntil(b"event: hello")
            assert hub.viewers <= MOST_OF_ONE
            own.transport.abort()
        finally:
            for writer in held:
                writer.transport.abort()


async def test_a_reader_that_stopped_reading_is_let_go(
    tmp_path: Path, free_port: Callable[[], int], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("dashboard.patience.STALLED_AFTER_S", 0.2)
    known = settings(tmp_path, free_port())
    hub = Hub(known.rig)
    async with serving_page(known, hub):
        raw = socket.socket()
        raw.setsockopt(socket.SOL_SOCKET, socket.SO_RCVBUF, 4096)
        raw.setblocking(False)
        loop = asyncio.get_running_loop()
        await loop.sock_connect(raw, ("127.0.0.1", known.port))
        await loop.sock_sendall(raw, STREAM.format(port=known.port).encode())
        await eventually("the stream is open", lambda: asyncio.sleep(0, hub.viewers == 1))
        (viewer,) = hub._viewers
        async with asyncio.timeout(30):
            while hub.viewers:  # more than the buffers between us hold
                viewer.put("frame", b"data: " + b"x" * 500_000 + b"\n\n")
                await asyncio.sleep(0.01)
        raw.close()


def watching(hub: Hub, role: str, name: str) -> None:
    token = visitor.set(Visitor(role, name))  # type: ignore[arg-type]
    try:
        hub.join("us")
    finally:
        visitor.reset(token)


async def test_leads_leave_places_for_technicians_and_everyone_loses_their_own_oldest_first() -> None:
    hub = Hub()
    for number in range(MOST_VIEWERS - KEPT_FOR_TECHNICIANS):
        watching(hub, "lead", f"lead {number}")
    with pytest.raises(FullError, match="pages are open already"):
        watching(hub, "lead", "one more")
    for number in range(KEPT_FOR_TECHNICIANS):
        watching(hub, "technician", f"technician {number}")
    assert hub.viewers == MOST_VIEWERS
    watching(hub, "technician", "a further one")  # in the place of a lead
    watching(hub, "lead", "lead 5")  # in the place of their own
    names = [viewer.who.name for viewer in hub._viewers]
    assert len(names) == MOST_VIEWERS
    assert "lead 0" not in names
    assert "a further one" in names
    assert names.count("lead 5") == 1


def test_a_flood_of_alike_events_is_written_shortly(caplog: pytest.LogCaptureFixture) -> None:
    from ingest.logs import MOST_ALIKE, WINDOW_S, FewAlike

    now_s = 0.0
    few = FewAlike(lambda: now_s)

    def event(line: int, text: str) -> logging.LogRecord:
        return logging.LogRecord("page", logging.WARNING, "auth.py", line, "%s refused", (text,), None)

    assert sum(few.filter(event(7, str(number))) for number in range(100_000)) == MOST_ALIKE
    assert few.filter(event(8, "another kind"))
    now_s = WINDOW_S
    told = event(7, "the next")
    assert few.filter(told)
    assert told.getMessage() == f"the next refused ({100_000 - MOST_ALIKE} more like it were not written)"
