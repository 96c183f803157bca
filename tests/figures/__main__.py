"""`python -m tests.figures [NAME ...]`: measure, and print one table."""

import importlib
import pkgutil
import sys

from tests import figures
from tests.figures import Figure


def main(names: list[str]) -> None:
    """Run the named measurements, or all of them."""
    available = sorted(module.name for module in pkgutil.iter_modules(figures.__path__) if module.name != "__main__")
    unknown = set(names) - set(available)
    if unknown:
        sys.exit(f"no such figure: {', '.join(sorted(unknown))}; there are {', '.join(available)}")
    rows = [Figure("what", "measured", "target"), Figure("---", "---", "---")]
    for name in names or available:
        print(f"measuring {name} ...", file=sys.stderr)
        rows += [Figure(*row) for row in importlib.import_module(f"tests.figures.{name}").measure()]
    widths = [max(len(row[column]) for row in rows) for column in range(3)]
    for row in rows:
        print("| " + " | ".join(cell.ljust(width) for cell, width in zip(row, widths, strict=True)) + " |")


if __name__ == "__main__":
    main(sys.argv[1:])
