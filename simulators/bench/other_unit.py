"""The unit in which an instrument sends after somebody has pressed its button: the other one that the trade uses."""

from collections.abc import Callable, Mapping
from types import MappingProxyType

from simulators.bench.instruments import PA_PER_PSI, Instrument

_KPA_PER_PSI = PA_PER_PSI / 1000.0

_OTHER: Mapping[str, Callable[[float], float]] = MappingProxyType(
    {
        "psi": lambda psi: psi * _KPA_PER_PSI,
        "kPa": lambda kilopascal: kilopascal / _KPA_PER_PSI,
        "degF": lambda fahrenheit: (fahrenheit - 32.0) / 1.8,
        "degC": lambda celsius: celsius * 1.8 + 32.0,
        "A": lambda ampere: 1000.0 * ampere,
        "V": lambda volt: 1000.0 * volt,
    }
)


def other_units(instrument: Instrument) -> dict[str, Callable[[float], float]]:
    """Give, by field, what turns a number into that of the other unit; nothing for what has only one."""
    return {output.field: _OTHER[output.unit] for output in instrument.outputs if output.unit in _OTHER}
