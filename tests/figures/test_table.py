"""The table of figures: each row at once, and a row that cannot be measured takes none of the others with it."""

import importlib
import pkgutil
from collections.abc import AsyncIterator, Iterator
from inspect import isasyncgenfunction, isgeneratorfunction
from pathlib import Path

import pytest

from calc.quantities import CHANNELS
from tests import figures
from tests.browser import chromium, new_page
from tests.figures import Figure, daemon_ceiling
from tests.figures import __main__ as table
from tests.figures.painted import NOTE_PAINTS

NAMES = [found.name for found in pkgutil.iter_modules(figures.__path__) if not found.name.startswith(("_", "test_"))]
FIRST, SECOND, THIRD = (Figure(what, "1", "<= 2") for what in ("first", "second", "third"))


def test_a_row_is_shown_before_the_next_is_measured(capsys: pytest.CaptureFixture[str]) -> None:
    shown_before_the_second: list[str] = []

    def measure() -> Iterator[Figure]:
        yield FIRST
        shown_before_the_second.append(capsys.readouterr().out)
        yield SECOND

    assert table.measure_all({"both": measure}, table.show) == []
    assert "| first " in shown_before_the_second[0]
    assert "| second " in capsys.readouterr().out


def test_what_fails_is_told_and_the_rest_is_measured(capsys: pytest.CaptureFixture[str]) -> None:
    def fails() -> Iterator[Figure]:
        yield FIRST
        raise TypeError("type NoneType doesn't define __round__ method")

    async def fails_later() -> AsyncIterator[Figure]:
        yield SECOND
        raise TimeoutError("nothing was painted\nfor 60 s")

    async def is_well() -> AsyncIterator[Figure]:
        yield THIRD

    rows: list[Figure] = []
    failed = table.measure_all({"one": fails, "two": fails_later, "three": is_well}, rows.append)
    assert failed == ["one", "two"]
    assert [row.what for row in rows] == ["first", "one", "second", "two", "third"]
    assert rows[1].measured == "FAILED: TypeError: type NoneType doesn't define __round__ method"
    table.show(rows[3])
    assert "FAILED: TimeoutError: nothing was painted for 60 s" in capsys.readouterr().out


def test_the_exit_code_says_that_one_failed(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    def measure() -> Iterator[Figure]:
        raise ValueError("no such port")
        yield FIRST

    module = importlib.import_module("tests.figures.storage")
    monkeypatch.setattr(module, "measure", measure)
    with pytest.raises(SystemExit) as ended:
        table.main(["storage", "derivations"])
    assert ended.value.code == "not measured to the end: storage"  # which Python prints, and exits with 1
    assert "a whole tick's derivations" in capsys.readouterr().out


def test_a_name_that_is_none_is_told_with_those_that_are() -> None:
    with pytest.raises(SystemExit, match=r"no such figure: stroage; there are broker_rates, .*storage"):
        table.main(["stroage"])


@pytest.mark.parametrize("name", NAMES)
def test_every_measurement_gives_its_figures_one_by_one(name: str) -> None:
    measure = importlib.import_module(f"tests.figures.{name}").measure
    assert isgeneratorfunction(measure) or isasyncgenfunction(measure)


@pytest.mark.browser
async def test_what_is_painted_before_the_first_frame_is_no_ticks() -> None:
    draw = "document.querySelector('[data-live=ruler]').append('drawn'); new Promise(done => setTimeout(done, 50))"
    async with chromium() as browser:
        page = await new_page(browser)
        await page.add_init_script(NOTE_PAINTS)
        await page.goto("data:text/html,<div data-live=ruler></div>")
        await page.evaluate(draw)
        assert await page.evaluate("window.painted") == []
        await page.evaluate("window.frameTime = 7.25")
        await page.evaluate(draw)
        assert [tick for tick, _ in await page.evaluate("window.painted")] == [7.25]


def test_the_ceiling_has_a_value_for_every_channel() -> None:
    assert set(CHANNELS.values()) <= daemon_ceiling.VALUES.keys()


def test_make_passes_the_names() -> None:
    makefile = (Path(__file__).parents[2] / "Makefile").read_text(encoding="utf-8")
    assert "-m tests.figures $(NAMES)" in makefile
