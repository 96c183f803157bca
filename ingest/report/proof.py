"""The figures of a report, worked out again by a library that is not ours: CoolProp, where it is installed.

Superheat and subcooling as they were shown, against the line's temperature and a flash at the pressure that was read
with it. The difference is that of our curves, of what was rounded on the wire, and of nothing else.
"""

from collections.abc import Iterator
from dataclasses import dataclass
from importlib.util import find_spec

from calc.errors import UnknownNameError
from calc.refrigerants import get
from ingest.record.reading import History
from ingest.report.clock import Clock
from ingest.report.course import Course
from ingest.report.known import read_known
from ingest.wire.messages import Finding, Pack

_FIGURES = {
    "superheat": ("suction_pressure", "suction_line_temperature", 1.0),
    "subcooling": ("liquid_pressure", "liquid_line_temperature", 0.0),
}
"""Of which pressure and line each is, and at which quality the refrigerant boils there."""


@dataclass(frozen=True, slots=True)
class Proof:
    """What another library says. figures: how many were worked out again; worst_dk: the greatest difference [K].

    not_flashed: at how many pressures it found no equilibrium, as happens with mixtures.
    """

    library: str
    figures: int
    worst_dk: float
    not_flashed: int


def is_there() -> bool:
    """Tell whether the library is installed, without loading it."""
    return find_spec("CoolProp") is not None


def prove_visit(history: History, visit: str, zone: str) -> Proof:
    """Work out again what the report of a visit shows; arguments and errors as `compose`, and as `prove`."""
    return prove(Course(read_known(history, visit), "si", Clock(zone)))


def prove(course: Course) -> Proof:
    """Work out again what was shown at the moments that a report tells of. Takes seconds: the library is loaded.

    Raises:
        ModuleNotFoundError: it is not installed.

    """
    import CoolProp
    from CoolProp.CoolProp import PQ_INPUTS

    from calc.data.equations import state_of

    figures, worst_dk, not_flashed = 0, 0.0, 0
    for refrigerant, pack in _moments(course):
        state = state_of(get(refrigerant).equation_of_state)
        for figure, (pressure, line, quality) in _FIGURES.items():
            values = [pack.readings[name].value if name in pack.readings else None for name in (figure, pressure, line)]
            shown_dk, pressure_pa, line_k = values
            if shown_dk is None or pressure_pa is None or line_k is None:
                continue
            try:
                state.update(PQ_INPUTS, pressure_pa, quality)
            except ValueError:
                not_flashed += 1
                continue
            again_dk = line_k - state.T() if quality else state.T() - line_k
            figures, worst_dk = figures + 1, max(worst_dk, abs(shown_dk - again_dk))
    return Proof(f"CoolProp {CoolProp.__version__}", figures, worst_dk, not_flashed)


def _moments(course: Course) -> Iterator[tuple[str, Pack]]:
    """Give the packs of moments, each with the refrigerant of the circuit on which the probes were then."""
    of = {circuit.name: circuit.refrigerant for circuit in course.circuits}
    for mark in course.marks:
        pack = course.known.moments.get(mark.id)
        circuit = mark.circuit if isinstance(mark, Finding) and mark.circuit else course.in_view
        if pack is None or circuit not in of:
            continue
        try:
            get(of[circuit])
        except UnknownNameError:  # added on another machine: nothing was shown by it here either
            continue
        yield of[circuit], pack
