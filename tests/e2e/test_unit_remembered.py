"""A unit that was found sound is compared, at the next visit, with what it showed itself."""

import asyncio
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from tests.bench import bench
from tests.bluetooth import needs_fake_bluez
from tests.stock_client import stock_client

pytestmark = needs_fake_bluez

SPEED = 40.0
FIVE_MINUTES_OF_THE_UNIT_S = 300.0 / SPEED
"""Longer than it takes to be kept, once all is right; blind, all has been right by then."""


def kinds(advice: dict[str, Any]) -> set[str]:
    return {detail["kind"] for detail in advice["details"]}


def sure(advice: dict[str, Any]) -> float:
    return next(cause["probability"] for cause in advice["causes"] if cause["fault"] == "nothing wrong")


async def test_what_a_sound_unit_showed_is_what_is_expected_at_the_next_visit(
    tmp_path: Path, free_port: Callable[[], int]
) -> None:
    async with (
        bench(tmp_path, free_port, speed=SPEED, scenario="all_is_well") as it,
        stock_client(it.broker_port) as sam,
    ):
        await sam.until("that it is found sound", lambda: "found_sound" in [mark["kind"] for mark in sam.marks])
        first_sure = sure(sam.newest["advice"])
        (found,) = [mark for mark in sam.marks if mark["kind"] == "found_sound"]
        assert found["refrigerant"] == "R-410A"
        assert {"suction_dew_point", "condensing_over_outdoor", "air_split"} <= found["departures"].keys()
        first, tag = sam.visit["visit"], sam.newest["about"]["unit"]["tag"]
        await sam.ask("sign", name="Sam", confirmed=True)
        await sam.ask("open", unit=tag)
        await sam.until("the next visit", lambda: sam.visit["visit"] != first)
        await sam.until("that it is compared with itself", lambda: "detail.known_unit" in kinds(sam.newest["advice"]))
        assert first_sure < sure(sam.newest["advice"])


@pytest.mark.parametrize("blind", [True, False])
async def test_nothing_is_kept_of_an_exercise_nor_after_the_signature(
    tmp_path: Path, free_port: Callable[[], int], blind: bool
) -> None:
    """A trainee must not read in the log that all is well; what is signed stays as it was signed."""
    async with (
        bench(tmp_path, free_port, speed=SPEED, scenario="all_is_well", blind=blind) as it,
        stock_client(it.broker_port) as sam,
    ):
        if not blind:
            await sam.ask("sign", name="Sam", confirmed=True)
            await sam.until("that all is right", lambda: sam.newest.get("advice", {}).get("state") == "done")
        else:
            await asyncio.sleep(FIVE_MINUTES_OF_THE_UNIT_S)  # until it has settled: nobody is told
        await asyncio.sleep(FIVE_MINUTES_OF_THE_UNIT_S)
        assert "found_sound" not in [mark["kind"] for mark in sam.marks]
