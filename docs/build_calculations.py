"""Write docs/calculations.md from the catalogue and the docstrings of calc, and docs/from_memory.md.

Run `python -m docs.build_calculations`.
"""

import inspect
import re
from collections.abc import Callable, Iterator
from importlib import import_module
from pathlib import Path
from pkgutil import walk_packages
from types import ModuleType

import calc
from calc.calculation import Calculation
from calc.calculations import CALCULATIONS
from docs import from_memory
from docs.sources import IN_FULL

PAGE = Path(__file__).parent / "calculations.md"
_HOUSEKEEPING = {
    "arguments",
    "calculation",
    "catalogue",
    "elementwise",
    "entry",
    "errors",
    "instruments",
    "quantities",
    "unit_tables",
    "wiring.tightening",
}
_NOT_SHOWN = ("calc.calculations", "calc.data")
_SECTIONS = re.compile(r"^(Args|Returns|Raises|Attributes):$", re.MULTILINE)
_EXAMPLE = re.compile(r"^>>> .*\Z", re.MULTILINE | re.DOTALL)

_INTRODUCTION = """# Calculations

Written by `python -m docs.build_calculations` from the code; change it there.

Run one at a shell, with its unit in every value:

    dewline calc --list
    dewline calc superheat refrigerant=R-410A suction_pressure=118psig suction_line_temperature=50degF
    dewline calc superheat --help              # its arguments with their limits, and what it gives
    dewline calc wet bulb                      # looks for words

`--json` gives SI values, and errors too. What carries a ± has it beside it as `expanded_NAME`, with the coverage factor
k = 2. What had to be assumed is listed. A pressure says gauge or absolute, or it is refused; "25 inHg vac" counts down
from the air.

From Python: `calc.catalogue.run(name, values)`, or the functions below. They take SI, floats or numpy arrays alike, by
keyword after the first two arguments, and raise `calc.errors.CalcError`. The packages are typed (PEP 561); where an
array is given for a float, a type checker sees the float.
"""


def page() -> str:
    """Give the whole page."""
    parts = [_INTRODUCTION, *_table(), *_sources()]
    for module in _modules():
        parts += _module_section(module)
    return "\n".join(parts).rstrip() + "\n"


def _table() -> Iterator[str]:
    yield "| calculation | answers | arguments | source | tolerance | held by |"
    yield "|---|---|---|---|---|---|"
    for name, calculation in CALCULATIONS.items():
        cells = [f"`{name}`", calculation.answers, _arguments(calculation), calculation.source, calculation.tolerance]
        cells.append(f"`{calculation.test.removeprefix('tests/')}`")
        yield f"| {' | '.join(cell.replace('|', chr(92) + '|') for cell in cells)} |"
    yield "\nArguments in brackets may be left out.\n"


def _sources() -> Iterator[str]:
    yield "## Sources in full\n"
    yield "What is only from memory, editions and pages included, is listed in [from_memory.md](from_memory.md).\n"
    yield from (f"- **{name}**: {what}" for name, what in IN_FULL.items())
    yield ""


def _arguments(calculation: Calculation) -> str:
    names = [f"[{given.name}]" if given.otherwise else given.name for given in calculation.parameters]
    if calculation.needs_site:
        names.append("[elevation or barometric_pressure]")
    return ", ".join(names) or "none"


def _modules() -> Iterator[ModuleType]:
    for found in walk_packages(calc.__path__, "calc."):
        if not found.name.startswith(_NOT_SHOWN) and found.name.removeprefix("calc.") not in _HOUSEKEEPING:
            yield import_module(found.name)


def _module_section(module: ModuleType) -> Iterator[str]:
    functions = [function for _, function in inspect.getmembers(module, inspect.isfunction)]
    own = [each for each in functions if each.__module__ == module.__name__ and not each.__name__.startswith("_")]
    if not own:
        return
    yield f"## {module.__name__}\n\n{inspect.getdoc(module)}\n"
    for function in sorted(own, key=lambda each: inspect.unwrap(each).__code__.co_firstlineno):
        yield f"### {function.__name__}\n\n`{function.__name__}{_signature(function)}`\n"
        yield _markdown(inspect.getdoc(function) or "")


def _signature(function: Callable[..., object]) -> str:
    """Give the names of the arguments; the docstring tells what they are."""
    signature = inspect.signature(function)
    plain = [given.replace(annotation=inspect.Parameter.empty) for given in signature.parameters.values()]
    return str(signature.replace(parameters=plain, return_annotation=inspect.Signature.empty))


def _markdown(docstring: str) -> str:
    text = _SECTIONS.sub(lambda match: f"{match[1]}:\n", docstring)
    text = re.sub(r"^    (\w+): ", r"- `\1`: ", text, flags=re.MULTILINE)
    text = re.sub(r"^ {4,8}(?=\S)", "  ", text, flags=re.MULTILINE)
    return _EXAMPLE.sub(lambda match: f"```python\n{match[0].rstrip()}\n```", text) + "\n"


if __name__ == "__main__":
    PAGE.write_text(page(), "utf-8")
    from_memory.PAGE.write_text(from_memory.page(), "utf-8")
