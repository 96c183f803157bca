"""The page served in this process, and requests to it as any client would send them."""

import asyncio
import http.client
import json
import ssl
from collections.abc import AsyncIterator, Mapping
from contextlib import asynccontextmanager
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from dashboard.app import PageServer, page_server
from dashboard.hub import Hub
from dashboard.reports import ReportMaker
from dashboard.settings import Settings
from ingest.wire.messages import BrokerAddress

NO_BROKER = BrokerAddress("127.0.0.1", 9)  # the discard port: nothing listens there


@dataclass(frozen=True)
class Response:
    status: int
    headers: Mapping[str, str]
    body: bytes

    @property
    def text(self) -> str:
        return self.body.decode()

    def json(self) -> Any:
        return json.loads(self.body)


def settings(directory: Path, port: int, **changes: Any) -> Settings:
    known: dict[str, Any] = {"broker": NO_BROKER, "data_directory": directory, "port": port}
    return Settings(**known | changes)


@asynccontextmanager
async def serving_page(
    known: Settings, hub: Hub | None = None, reports: ReportMaker | None = None
) -> AsyncIterator[Hub]:
    """Serve the page until the block ends."""
    hub = hub or Hub(known.rig)
    server = page_server(known, hub, reports)
    serving = asyncio.create_task(_serve(server, known.port))
    while not server.started:
        if serving.done():
            serving.result()
        await asyncio.sleep(0.01)
    try:
        yield hub
    finally:
        server.should_exit = True
        await serving


async def _serve(server: PageServer, port: int) -> None:
    """Serve; where the server cannot start it exits, and in a task of ours that would end the loop of every test."""
    try:
        await server.serve()
    except SystemExit as error:
        raise RuntimeError(f"the page cannot be served on port {port}: something else may listen there") from error


async def request(
    known: Settings,
    method: str,
    path: str,
    *,
    body: bytes = b"",
    headers: Mapping[str, str] = {},
    trusted: ssl.SSLContext | None = None,
    same_origin: bool = True,
) -> Response:
    """Send one request, with the Origin that the page itself would send unless told otherwise."""

    def send() -> Response:
        host = "127.0.0.1"
        if trusted:
            client: http.client.HTTPConnection = http.client.HTTPSConnection(
                host, known.port, timeout=40, context=trusted
            )
        else:
            client = http.client.HTTPConnection(host, known.port, timeout=40)
        origin = {"Origin": f"{'https' if trusted else 'http'}://{host}:{known.port}"} if same_origin else {}
        client.request(method, path, body=body or None, headers={**origin, **headers})
        answer = client.getresponse()
        response = Response(answer.status, {name.lower(): value for name, value in answer.getheaders()}, answer.read())
        client.close()
        return response

    return await asyncio.to_thread(send)


async def enter(known: Settings, link: str, name: str = "Robin", trusted: ssl.SSLContext | None = None) -> Response:
    """Open an invitation and press its button."""
    token = link.partition("token=")[2]
    return await request(known, "POST", "/join", body=f"token={token}&name={name}".encode(), trusted=trusted)


def cookie_of(response: Response) -> dict[str, str]:
    """The header with which a browser would show the login it was given."""
    return {"Cookie": response.headers["set-cookie"].partition(";")[0]}


class Stream:
    """The server-sent events of the page, one after the other."""

    def __init__(self, reader: asyncio.StreamReader) -> None:
        self._reader = reader

    async def next(self, kind: str, within_s: float = 40.0) -> Any:
        """Wait for the next event of this kind."""
        async with asyncio.timeout(within_s):
            while True:
                line = (await self._reader.readline()).decode()
                assert line, "the stream ended"
                if line == f"event: {kind}\n":
                    return json.loads((await self._reader.readline()).decode().removeprefix("data: "))


@asynccontextmanager
async def watching(
    known: Settings, units: str = "us", headers: Mapping[str, str] = {}, path: str = "/api/stream"
) -> AsyncIterator[Stream]:
    """Watch a stream until the block ends."""
    reader, writer = await asyncio.open_connection("127.0.0.1", known.port)
    lines = [f"GET {path}?units={units} HTTP/1.1", f"Host: 127.0.0.1:{known.port}"]
    lines += [f"{name}: {value}" for name, value in headers.items()]
    writer.write(("\r\n".join(lines) + "\r\n\r\n").encode())
    try:
        yield Stream(reader)
    finally:
        writer.close()
        await writer.wait_closed()
