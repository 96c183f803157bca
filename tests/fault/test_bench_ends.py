"""A bench that ends takes its children along, however it ends; and it opens to a tablet by the door only."""

import asyncio
import http.client
import re
import ssl
from collections.abc import Callable
from contextlib import closing
from pathlib import Path
from urllib.parse import urlsplit

import psutil

from dashboard.own_certificate import own_certificate
from tests.bench import Bench, bench, kill
from tests.processes import eventually, is_free, running


def kin(it: Bench) -> list[psutil.Process]:
    return psutil.Process(it.command.process.pid).children(recursive=True)


async def test_a_killed_bench_leaves_no_child_and_no_port_behind(tmp_path: Path, free_port: Callable[[], int]) -> None:
    async with bench(tmp_path, free_port) as it:
        children = kin(it)
        assert len(children) >= 3
        kill(psutil.Process(it.command.process.pid))

        async def all_gone() -> bool:
            return not any(child.is_running() and child.status() != psutil.STATUS_ZOMBIE for child in children)

        await eventually("its children end", all_gone)
        assert is_free(it.page_port)
        assert is_free(it.broker_port)


async def test_beyond_this_machine_the_page_has_tls_and_lets_in_who_holds_the_link(
    tmp_path: Path, free_port: Callable[[], int]
) -> None:
    port = free_port()
    directory = tmp_path / "run"
    certificate, _ = own_certificate(tmp_path / "certificates", "localhost")
    trusted = ssl.create_default_context(cafile=str(certificate))
    arguments = ["bench", "--host", "0.0.0.0", "--public-name", "localhost", "--port", str(port)]
    arguments += ["--broker-port", str(free_port()), "--directory", str(directory)]

    def get(path: str) -> int:
        with closing(http.client.HTTPSConnection("localhost", port, context=trusted, timeout=5)) as page:
            page.request("GET", path)
            return page.getresponse().status

    async with running(arguments, tmp_path / "log.txt") as command:

        async def serves() -> bool:
            try:
                return await asyncio.to_thread(get, "/join?token=none") > 0
            except OSError:
                return False

        async def is_told() -> bool:
            return "A lead opens" in command.output()

        await eventually("the page is served", serves)
        await eventually("its links are told", is_told)
        link = re.search(r"https://localhost:\S+", command.output())
        assert link is not None
        opened = urlsplit(link[0])
        assert await asyncio.to_thread(get, f"{opened.path}?{opened.query}") == 200
        assert await asyncio.to_thread(get, "/join?token=none") == 403


OF_THIS_MACHINE = ("dbus-daemon[", "should not be run as root")
"""What other programs say of who runs them."""


async def test_a_bench_says_at_its_start_what_a_technician_needs_and_no_more(
    tmp_path: Path, free_port: Callable[[], int]
) -> None:
    async with bench(tmp_path, free_port) as it:

        async def records() -> bool:
            is_told = "/join?token=" in it.command.output()
            is_there = (tmp_path / "bench.sqlite").exists()
            return is_told and is_there and len(await asyncio.to_thread(it.packs_on_disk)) > 8

        await eventually("it records", records)
        said = [line for line in it.command.output().splitlines() if not any(part in line for part in OF_THIS_MACHINE)]
    record, page, lead, link = said  # what answers nothing yet is not told of
    assert page == f"The page: {it.page} (stop with Ctrl-C)"
    assert lead.startswith("A lead")
    assert link.startswith(f"  {it.page}/join?token=")
    assert record == f"The record: {tmp_path / 'bench.sqlite'}"


async def test_a_bench_says_more_where_it_is_asked_to_and_what_a_record_of_before_has_not(
    tmp_path: Path, free_port: Callable[[], int]
) -> None:
    (tmp_path / "run").mkdir()
    (tmp_path / "run" / "bench.sqlite").touch()  # to SQLite a record without tables
    arguments = ["--log-level", "info", "bench", "--directory", str(tmp_path / "run"), "--port", str(free_port())]
    async with running([*arguments, "--broker-port", str(free_port())], tmp_path / "log.txt") as command:

        async def says_it() -> bool:
            return "low side probe is connected" in command.output()

        await eventually("its daemon says that a probe is connected", says_it)
        assert "The unit starts anew" in command.output()
