"""The report of a visit as the page serves it. Who makes it is put in from outside: the page knows no drawing."""

import asyncio
from http import HTTPStatus
from typing import Annotated, Literal, Protocol

import msgspec
from fastapi import FastAPI, Query
from starlette.responses import PlainTextResponse, Response

from calc.units import System
from dashboard.errors import ReportRefusedError

Form = Literal["pdf", "html"]
Paper = Literal["a4", "letter"]

MOST_AT_ONCE = 2
"""Reports that are made at the same time: each takes a core for seconds."""
_MEDIA: dict[Form, str] = {"pdf": "application/pdf", "html": "text/html; charset=utf-8"}


class MadeReport(msgspec.Struct, frozen=True):
    """A report as a file. policy: of its content (CSP), by which the scripts that are in it run, and no others."""

    data: bytes
    policy: str


class ReportMaker(Protocol):
    """Makes the report of a visit; it blocks for seconds, and is called in a thread."""

    def __call__(self, visit: str, form: Form, *, system: System, zone: str, paper: Paper) -> MadeReport:
        """Make it.

        Raises:
            ReportRefusedError: there is none, with the reason.

        """
        ...


def add_report_route(server: FastAPI, maker: ReportMaker | None) -> None:
    """Add the route of a visit's report. maker: None where the record is not on this machine."""
    turn = asyncio.Semaphore(MOST_AT_ONCE)

    @server.get("/report/{visit}.{form}")
    async def report(
        visit: str,
        form: Form,
        units: System = "us",
        zone: Annotated[str, Query(max_length=64)] = "UTC",
        paper: Paper = "a4",
    ) -> Response:
        if maker is None:
            reason = "The record is not on this machine; reports are made where it is, by dewline report."
            return PlainTextResponse(reason, HTTPStatus.NOT_FOUND)
        try:
            async with turn:
                made = await asyncio.to_thread(maker, visit, form, system=units, zone=zone, paper=paper)
        except ReportRefusedError as error:
            return PlainTextResponse(error.reason, error.status)
        shown = {
            "Content-Disposition": f'inline; filename="report-{visit}.{form}"',
            "Content-Security-Policy": made.policy,
        }
        return Response(made.data, media_type=_MEDIA[form], headers=shown)
