"""The report of a visit as the page serves it: to whom, with which headers, and what is said where there is none."""

from collections.abc import AsyncIterator, Callable
from contextlib import asynccontextmanager
from pathlib import Path

import pytest

from commands.reports import report_maker
from dashboard.auth import make_invitation
from dashboard.settings import Settings
from ingest.report.drawn.own_digest import opened
from tests.browser import chromium
from tests.ingest.report.kept import VISIT, kept
from tests.page import cookie_of, enter, request, serving_page, settings

ASKED = f"/report/{VISIT}.pdf?units=si&zone=Europe/Paris&paper=a4"


@asynccontextmanager
async def page(directory: Path, port: int, *, record: bool = True, **changes: object) -> AsyncIterator[Settings]:
    known = settings(directory, port, **changes)
    reports = report_maker(kept(directory / "data")) if record else None
    async with serving_page(known, reports=reports):
        yield known


@pytest.mark.parametrize(("form", "media"), [("pdf", "application/pdf"), ("html", "text/html; charset=utf-8")])
async def test_it_is_made_as_asked_for(tmp_path: Path, free_port: Callable[[], int], form: str, media: str) -> None:
    async with page(tmp_path, free_port()) as known:
        got = await request(known, "GET", ASKED.replace("pdf", form))
        other = await request(known, "GET", "/visit")
    assert (got.status, got.headers["content-type"]) == (200, media)
    assert got.headers["content-disposition"] == f'inline; filename="report-{VISIT}.{form}"'
    assert got.headers["cache-control"] == "no-store"
    made = opened(got.body)[1]
    assert (made.visit, made.system, made.zone, made.paper) == (VISIT, "si", "Europe/Paris", "a4")
    own = got.headers["content-security-policy"]
    assert own.startswith("default-src 'none'; script-src ")
    assert "'self'" not in own
    assert "script-src 'self'" in other.headers["content-security-policy"]
    assert got.headers["x-content-type-options"] == "nosniff"


async def test_a_lead_reads_it_and_a_stranger_does_not(tmp_path: Path, free_port: Callable[[], int]) -> None:
    async with page(tmp_path, free_port(), open_loopback_role=None) as known:
        assert (await request(known, "GET", ASKED)).status == 401
        login = cookie_of(await enter(known, make_invitation(known, "lead")))
        assert (await request(known, "GET", ASKED, headers=login)).status == 200


@pytest.mark.parametrize(
    ("asked", "status", "says"),
    [
        ("/report/v9.pdf", 404, "There is no report: the record has no visit 'v9'"),
        (f"/report/{VISIT}.pdf?zone=Mars/Olympus", 400, "Mars/Olympus"),
        (f"/report/{VISIT}.exe", 404, "There is nothing here."),
        (f"/report/{VISIT}.pdf?paper=napkin", 422, ""),
        ("/report/..%2Fsecret.pdf", 404, "There is nothing here."),
    ],
)
async def test_what_there_is_no_report_of_is_told(
    tmp_path: Path, free_port: Callable[[], int], asked: str, status: int, says: str
) -> None:
    async with page(tmp_path, free_port()) as known:
        got = await request(known, "GET", asked)
    assert got.status == status
    assert says in got.text


async def test_where_the_record_is_elsewhere_it_says_where_reports_are_made(
    tmp_path: Path, free_port: Callable[[], int]
) -> None:
    async with page(tmp_path, free_port(), record=False) as known:
        got = await request(known, "GET", ASKED)
    assert (got.status, "dewline report" in got.text) == (404, True)


@pytest.mark.browser
async def test_its_own_scripts_run_as_it_is_served(tmp_path: Path, free_port: Callable[[], int]) -> None:
    wrong: list[str] = []
    async with page(tmp_path, free_port()) as known, chromium() as browser:
        shown = await browser.new_page(viewport={"width": 390, "height": 844})
        shown.on("console", lambda message: wrong.append(message.text))
        await shown.goto(f"http://127.0.0.1:{known.port}{ASKED.replace('pdf', 'html')}")
        assert await shown.locator("h1").first.text_content() == "For the owner"
        await shown.close()
    assert wrong == []
