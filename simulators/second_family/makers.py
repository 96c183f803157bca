"""Units of many makers, drawn: each figure about its published middle, with what departs together.

Evaporating and condensing over outdoor air are nearly free of each other between models (r = 0.2 of 16, computed from
makers' printed normal pressures, tests/published/normal_pressures_by_makers.csv). Subcooling and the approach of liquid
to outdoor air share one height: large subcooling leaves a small approach (r = -0.97 of four sizes of one maker), so
that what leaves none is not drawn. More air warms the coil and lowers the split together.

Printed pressures are of R-410A; other refrigerants with little glide are built for the same temperatures (common
practice, no source).
"""

import math
import random
from collections.abc import Mapping
from dataclasses import replace
from types import MappingProxyType
from typing import NamedTuple

from simulators.errors import SimulatorError
from simulators.second_family.parameters import RATED_CFM_PER_TON, TON_W, Build, Kind, Metering

Span = tuple[float, float]
"""A mean with its standard deviation, or a lowest with a highest."""


class _Makers(NamedTuple):
    """How units of one kind are built. evaporating, over_outdoor: normal; the others even between two [°F, °F/°F]."""

    share: float
    refrigerants: Mapping[str, float]
    evaporating_f: Span
    over_outdoor_f: Span
    over_outdoor_by_outdoor: Span
    over_outdoor_by_wet_bulb: Span
    cop: float
    port_drop_psi: Span


_RECENT = {"R-410A": 0.7, "R-454B": 0.2, "R-32": 0.1}

KINDS: Mapping[Kind, _Makers] = MappingProxyType(
    {
        # Four sizes of 13 SEER: 15.3, deviation 0.5; evaporating 51.0, deviation 1.3 of 18 models.
        "split": _Makers(0.35, _RECENT, (51.0, 1.3), (15.3, 0.5), (-0.06, 0.01), (0.05, 0.40), 3.5, (5.0, 33.0)),
        # Eight sizes and three heat pumps of 14 SEER: 17.9, deviation 2.4.
        "packaged": _Makers(0.30, _RECENT, (51.0, 1.3), (17.9, 2.4), (-0.105, 0.0), (0.05, 0.40), 3.6, (5.0, 33.0)),
        # One unit, read at the discharge port: 30.9 °F, evaporating 50.1 °F.
        "wall-mounted": _Makers(
            0.10, {"R-410A": 1.0}, (50.1, 1.3), (30.9, 1.0), (-0.17, -0.095), (0.40, 0.55), 3.0, (0.0, 0.0)
        ),
        # SEER 8 to 10: 20 to 30 °F over the outdoor air, a coil of 40 to 50 °F (from memory).
        "older": _Makers(
            0.25, {"R-22": 0.75, "R-410A": 0.25}, (45.5, 2.0), (24.0, 2.5), (-0.06, 0.0), (0.2, 0.5), 2.7, (3.0, 15.0)
        ),
    }
)
"""Shares, COP, drops of the port but the largest (one maker's 33 psi): common practice, no source. Slopes: as printed,
with 1.0 to 2.5 °F for 5 °F of wet bulb reckoned by heat balance."""

_SUBCOOLING: Mapping[Metering, tuple[float, float, float, float]] = MappingProxyType(
    {"valve": (9.6, 3.0, 5.0, 16.0), "orifice": (8.6, 2.1, 4.5, 13.0)}
)
"""Mean, deviation, least, most at 95 °F: makers' tables, 17 models with a valve and eight sizes with an orifice."""

_SUPERHEAT: Mapping[Metering, tuple[float, float, float, float]] = MappingProxyType(
    {"valve": (12.0, 2.5, 6.0, 20.0), "orifice": (13.0, 2.0, 8.0, 18.0)}
)
"""A valve's at the outdoor port is 8 to 16 °F (from memory); an orifice's is charged to what the trade's formula asks
for there, half of 3 wet bulb - 80 - outdoor air, by makers within 5 °F."""

_MOST_DRAWS = 500

_LEAST_APPROACH_F = 4.0
"""The least that is printed (four sizes of one maker: 4 to 10 °F)."""


def draw_build(chance: random.Random, metering: Metering) -> Build:
    """Draw a unit that a maker would sell."""
    kind = chance.choices(list(KINDS), [each.share for each in KINDS.values()])[0]
    its = KINDS[kind]
    tons = chance.choice((1.5, 2.0, 2.5, 3.0, 3.5, 4.0, 5.0))
    coil = chance.gauss(0.0, 1.0)
    head = 0.2 * coil + math.sqrt(1.0 - 0.2**2) * chance.gauss(0.0, 1.0)
    over_outdoor_f = its.over_outdoor_f[0] + its.over_outdoor_f[1] * head
    return Build(
        kind=kind,
        refrigerant=chance.choices(list(its.refrigerants), list(its.refrigerants.values()))[0],
        metering=metering,
        right_kg=round(tons * chance.uniform(0.9, 1.4), 2),  # 2 to 3 lb a ton: common practice, no source
        evaporating_f=its.evaporating_f[0] + its.evaporating_f[1] * coil,
        evaporating_by_outdoor=_normal(chance, 0.111, 0.03, 0.08, 0.20),  # 112 printed points; by model 0.08 to 0.20
        evaporating_by_wet_bulb=_normal(chance, 0.674, 0.12, 0.40, 0.96),  # by model 0.5 to 0.8; measured 0.96
        over_outdoor_f=over_outdoor_f,
        over_outdoor_by_outdoor=chance.uniform(*its.over_outdoor_by_outdoor),
        over_outdoor_by_wet_bulb=chance.uniform(*its.over_outdoor_by_wet_bulb),
        subcooling_f=_with_approach(chance, metering, over_outdoor_f),
        subcooling_by_outdoor=chance.uniform(-0.11, 0.0),  # six models of one maker
        superheat_f=_normal(chance, *_SUPERHEAT[metering]),
        superheat_by_outdoor=_normal(
            chance, -0.5, 0.06, -0.65, -0.35
        ),  # the formula's; how far units differ: no source
        superheat_by_wet_bulb=_normal(chance, 1.5, 0.15, 1.1, 1.9),
        split_f=chance.gauss(0.0, 2.0),  # the protocol allows 4
        air=_air(chance),
        discharge_f=chance.gauss(0.0, 4.0),  # an efficiency of 0.62 to 0.70
        # Homogeneous across units: Mehrabi and Yuill, abstract.
        sum_by_charge_f=_normal(chance, 75.2, 7.5, 55.0, 95.0),
        port_drop_psi=chance.uniform(*its.port_drop_psi),
        gas_share=chance.uniform(0.22, 0.33),  # by the power that air costs, 9 % for six tenths: 0.25
        liquid_share=chance.uniform(0.20, 0.33),  # common practice, no source
        capacity_w=tons * TON_W,
        cop=its.cop,
        slowness=chance.uniform(0.7, 1.4),
    )


def draw_of_plate(
    chance: random.Random,
    metering: Metering,
    *,
    refrigerant: str,
    capacity_w: float,
    right_kg: float,
    subcooling_f: float | None,
) -> Build:
    """Draw a unit with this nameplate, read at its liquid port. subcooling: what the plate asks for, of a valve [°F].

    Raises:
        SimulatorError: no maker here has such a unit.

    """
    for _ in range(_MOST_DRAWS):
        drawn = draw_build(chance, metering)
        asked_f = drawn.subcooling_f if subcooling_f is None else subcooling_f
        if (
            drawn.refrigerant == refrigerant
            and drawn.kind != "wall-mounted"
            and drawn.over_outdoor_f >= asked_f + _LEAST_APPROACH_F
        ):
            return replace(drawn, right_kg=right_kg, subcooling_f=asked_f, capacity_w=capacity_w)
    raise SimulatorError(
        f"no unit of this family has {refrigerant} and such a nameplate; there are "
        f"{', '.join(sorted({name for its in KINDS.values() for name in its.refrigerants}))}, "
        "and a target subcooling of some 5 to 16 °F"
    )


def _with_approach(chance: random.Random, metering: Metering, over_outdoor_f: float) -> float:
    mean, deviation, least, most = _SUBCOOLING[metering]
    return _normal(chance, mean, deviation, least, min(most, over_outdoor_f - _LEAST_APPROACH_F))


def _air(chance: random.Random) -> float:
    """Give the air over the rated: of 27 systems 320 ft³/min a ton, deviation of the logarithm 0.28 (FSEC-PF-321-97).

    Of those, what is not a fault: 300 to 450 ft³/min a ton.
    """
    mean = math.log(330.0 / RATED_CFM_PER_TON)
    return math.exp(
        _normal(chance, mean, 0.28, math.log(300.0 / RATED_CFM_PER_TON), math.log(450.0 / RATED_CFM_PER_TON))
    )


def _normal(chance: random.Random, mean: float, deviation: float, least: float, most: float) -> float:
    """Draw from a normal cut at both ends."""
    while not least <= (drawn := chance.gauss(mean, deviation)) <= most:
        pass
    return drawn
