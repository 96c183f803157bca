"""`python -m tests.figures [NAME ...]`: measure, and print a table, each row as soon as it is measured."""

import asyncio
import importlib
import pkgutil
import sys
import time
import traceback
from collections.abc import AsyncIterator, Callable, Iterator, Mapping, Sequence

from tests import figures
from tests.figures import Figure

Measure = Callable[[], Iterator[Figure] | AsyncIterator[Figure]]
Show = Callable[[Figure], None]

WIDTHS = (64, 50, 20)
"""Of the columns; a longer cell widens its own row only, because the rows to come are not known."""


def main(names: Sequence[str]) -> None:
    """Run the named measurements, or all of them; exit with 1 when one could not be measured to its end."""
    modules = (module.name for module in pkgutil.iter_modules(figures.__path__))
    available = sorted(name for name in modules if not name.startswith(("__", "test_")))
    unknown = sorted(set(names) - set(available))
    if unknown:
        sys.exit(f"no such figure: {', '.join(unknown)}; there are {', '.join(available)}")
    chosen = {name: _measure_of(name) for name in names or available}
    show(Figure("what", "measured", "target"))
    show(Figure(*("-" * width for width in WIDTHS)))
    failed = measure_all(chosen, show)
    if failed:
        sys.exit(f"not measured to the end: {', '.join(failed)}")


def _measure_of(name: str) -> Measure:
    """Import when its turn has come: a module that cannot be imported fails alone."""
    return lambda: importlib.import_module(f"tests.figures.{name}").measure()


def measure_all(measurements: Mapping[str, Measure], show: Show) -> list[str]:
    """Show every figure of every measurement; one that fails is shown as failed, and named in the result."""
    failed = []
    for name, measure in measurements.items():
        print(f"measuring {name} ...", file=sys.stderr, flush=True)
        began_s = time.monotonic()
        try:
            _show_each(measure(), show)
        except Exception as error:  # noqa: BLE001 - whatever it is, the others are still to be measured
            traceback.print_exc()
            show(Figure(name, f"FAILED: {type(error).__name__}: {error}", "-"))
            failed.append(name)
        print(f"measured {name} in {time.monotonic() - began_s:.0f} s", file=sys.stderr, flush=True)
    return failed


def _show_each(found: Iterator[Figure] | AsyncIterator[Figure], show: Show) -> None:
    if isinstance(found, AsyncIterator):
        asyncio.run(_show_each_to_come(found, show))
    else:
        for figure in found:
            show(figure)


async def _show_each_to_come(found: AsyncIterator[Figure], show: Show) -> None:
    async for figure in found:
        show(figure)


def show(figure: Figure) -> None:
    """Print one row of the table."""
    cells = (" ".join(cell.split()).ljust(width) for cell, width in zip(figure, WIDTHS, strict=True))
    print("| " + " | ".join(cells) + " |", flush=True)


if __name__ == "__main__":
    main(sys.argv[1:])
