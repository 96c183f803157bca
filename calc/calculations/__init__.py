"""Every calculation that can be run by name: one file a topic, merged here.

To add a topic, write `calc/calculations/TOPIC.py` with its `CALCULATIONS`, made by `calc.entry`, and give it a line
below. An entry names a function; what the names and annotations of its arguments tell is not said again.
"""

from collections.abc import Mapping
from types import MappingProxyType

from calc.calculation import Calculation
from calc.calculations import (
    air,
    airflow,
    aluminium,
    coil,
    conditions,
    finding,
    flammable,
    insulation,
    leakage,
    line_set,
    lugs,
    mode,
    motor,
    nitrogen,
    pull_down,
    recovery,
    refrigerants,
    saturation,
    sensors,
    single_phase,
    targets,
    transformer,
    vacuum,
    verification,
    wiring,
)

CALCULATIONS: Mapping[str, Calculation] = MappingProxyType(
    {
        **saturation.CALCULATIONS,
        **air.CALCULATIONS,
        **airflow.CALCULATIONS,
        **coil.CALCULATIONS,
        **conditions.CALCULATIONS,
        **mode.CALCULATIONS,
        **targets.CALCULATIONS,
        **verification.CALCULATIONS,
        **refrigerants.CALCULATIONS,
        **line_set.CALCULATIONS,
        **flammable.CALCULATIONS,
        **leakage.CALCULATIONS,
        **recovery.CALCULATIONS,
        **nitrogen.CALCULATIONS,
        **pull_down.CALCULATIONS,
        **vacuum.CALCULATIONS,
        **sensors.CALCULATIONS,
        **motor.CALCULATIONS,
        **finding.CALCULATIONS,
        **insulation.CALCULATIONS,
        **single_phase.CALCULATIONS,
        **wiring.CALCULATIONS,
        **aluminium.CALCULATIONS,
        **lugs.CALCULATIONS,
        **transformer.CALCULATIONS,
    }
)
