"""What is wrong with a unit? Every cause that would explain the readings, with its probability.

Each cause moves the figures in its own way (calc/data/fault_signatures.csv): the directions are published, the sizes
are typical and wide. What is measured is compared with every one of them, as departures from a sound unit, with the
uncertainty of instruments and expectations; Bayes' rule turns that into probabilities. Nothing may be wrong, several
things may be, or something that is not in the list; and with each of them an instrument may be off. Charge is judged
last: while air flow, heat rejection or an instrument is not ruled out, it is not blamed.
"""

import csv
from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass
from enum import StrEnum
from functools import cache
from importlib.resources import files
from itertools import combinations, product
from types import MappingProxyType
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from calc.governing import governing_figure
from calc.looks import likelihood
from calc.quantities import FIGURE_INPUTS
from calc.sentences import Sentence, term
from calc.situation import Seen, Situation
from calc.slips import Slip, slips
from calc.symptoms import FAHRENHEIT_DK, FIGURES, Departure, Departures, departures, rest_tells_nothing

__all__ = ["Cause", "Evidence", "Fault", "Observations", "explain", "next_check"]

Observations = Situation
"""What it is called where causes are weighed."""

Array = NDArray[np.float64]


class Fault(StrEnum):
    """What may be wrong."""

    NOTHING_WRONG = "nothing wrong"
    UNDERCHARGE = "undercharge"
    OVERCHARGE = "overcharge"
    LOW_EVAPORATOR_AIRFLOW = "low evaporator airflow"
    CONDENSER_FOULING = "condenser fouling or low outdoor airflow"
    RESTRICTION = "liquid-line restriction"
    VALVE_LEAKAGE = "compressor valve leakage"
    NON_CONDENSABLES = "non-condensables"
    OVERFEEDING = "expansion valve that feeds too much"
    SEVERAL = "several at once"
    INSTRUMENT_OFF = "an instrument that is off"
    NOT_ONE_OF_THESE = "not one of these"


SINGLE_FAULTS = tuple(
    fault
    for fault in Fault
    if fault not in (Fault.NOTHING_WRONG, Fault.SEVERAL, Fault.INSTRUMENT_OFF, Fault.NOT_ONE_OF_THESE)
)

_PRIOR: Mapping[Fault, float] = MappingProxyType(
    {
        Fault.NOTHING_WRONG: 0.265,
        Fault.UNDERCHARGE: 0.102,
        Fault.OVERCHARGE: 0.057,
        Fault.LOW_EVAPORATOR_AIRFLOW: 0.0855,
        Fault.CONDENSER_FOULING: 0.0855,
        Fault.RESTRICTION: 0.051,
        Fault.VALVE_LEAKAGE: 0.051,
        Fault.NON_CONDENSABLES: 0.064,
        Fault.OVERFEEDING: 0.037,
        Fault.SEVERAL: 0.185,
        Fault.NOT_ONE_OF_THESE: 0.017,
    }
)
"""How likely each is before anything is measured: common practice, no source. In the field a charge is wrong in 62 % of
units (> 4,000 homes in California), and air short in 35 to 40 % (surveys, quoted second-hand); taken as independent,
0.38 times 0.65 have neither, and 0.62 times 0.35 both; of both some less is taken here, for most are small. Too much
refrigerant is met more often than air; it counts as less likely all the same, because the two look alike and the charge
is judged last."""

_SEVERAL_SINCE_SOUND = 0.06
"""How likely several at once are in a unit that was found sound before: both came since. Common practice, no source."""

MOST_WHILE_HELD_BACK = 0.5
"""The probability that a wrong charge gets at most while another cause of the same readings is not ruled out."""

RULED_OUT = 0.1
"""The probability below which a cause counts as ruled out."""

_AIR_RULED_OUT = 0.05
"""Likewise of air, which looks just like too much refrigerant. Common practice, no source; set on simulated units
(tests/judge/obedient.py)."""

_OPENS, _OPENS_TIMES = 0.05, 2.0
"""A wrong charge rests on one instrument where that one, were it off, would leave what looks just like it this likely,
and so many times likelier than it is, or not ruled out. Common practice, no source; set likewise."""

STILL_OPEN = 1 / 3
"""The probability above which a cause is looked for before all is called right, and above which it is not ruled out
where it was not seen: a little air looks like none. Common practice, no source."""

STANDS_WITHOUT, STANDS_WITHOUT_A_CLAMP = 0.7, 0.9
"""What must be left of the probability of a wrong charge, were one instrument off, before refrigerant is moved: in a
full unit it costs far more than a second look. More, were it the clamp on the liquid line, which tells too little
refrigerant from a restriction, or that of the figure which shows the charge: they slip often, and are soon seen to.
Common practice, no source; set on simulated units (tests/judge/obedient.py), with other seeds than those reported.
"""

_MUST_BE_SEEN = (
    ("air_split", Fault.LOW_EVAPORATOR_AIRFLOW, ("return_air", "supply_air")),
    ("condensing_over_outdoor", Fault.CONDENSER_FOULING, ("liquid_pressure", "outdoor_air")),
)
_JUDGED_BEFORE: Mapping[Fault, tuple[Fault, ...]] = MappingProxyType(
    {
        Fault.UNDERCHARGE: (Fault.LOW_EVAPORATOR_AIRFLOW, Fault.CONDENSER_FOULING, Fault.RESTRICTION),
        Fault.OVERCHARGE: (Fault.LOW_EVAPORATOR_AIRFLOW, Fault.CONDENSER_FOULING, Fault.NON_CONDENSABLES),
    }
)
"""What must be ruled out before each wrong charge is blamed: air first, then what looks just like it."""

_ALONG, _ASIDE = 0.2, 0.22  # how far a fault's changes vary: all together, and each by itself, as a share of them
_CHANGE_DK, _CHANGE_LIQUID_LINE_DK, _CHANGE_LOAD = 0.7, 0.7, 0.025  # and at least
_WET, _WET_DK = 2.0, 4.5
"""How much colder the discharge line gets for each kelvin that superheat would fall beyond 0, and how well it is known
where it reaches 0 [K]. Like all of these common practice, no source; set on simulated units (docs/judge.md)."""

_SUPERHEAT_DK = 12 * FAHRENHEIT_DK
"""Of a unit of which none is expected, as the table of target superheat has it at condition A (RA3.2)."""

_UNKNOWN_DK, _UNKNOWN_LOAD = 9.0, 0.3  # how far a fault that is not in the list moves a figure
_LEAST_DENSITY = 1e-12
_SURE = 2.0  # standard uncertainties
_TELLING = 0.5  # of a figure's part in the logarithm of the odds
_NEVER_BELOW_ZERO = ("superheat", "subcooling")


@dataclass(frozen=True, slots=True)
class Evidence:
    """One figure's part in an explanation.

    Attributes:
        departure: what was measured against what was expected.
        weight: the logarithm of how much likelier it makes this explanation than a sound unit, by itself; a sound
            unit is compared with the likeliest fault.

    """

    departure: Departure
    weight: float


@dataclass(frozen=True, slots=True)
class Cause:
    """What would explain the readings.

    Attributes:
        fault: the cause.
        together: of `SEVERAL`, the two that go together best; else empty.
        probability: of this cause; those of all explanations are 1 in sum.
        evidence_for: the figures that speak for it, the strongest first.
        evidence_against: those that speak against it, the strongest first.
        next_check: what would settle it.
        held_back: why a wrong charge is not blamed yet; else None.
        rule_out_first: what must be ruled out before; None where it is not held back.
        channel: of `INSTRUMENT_OFF`, the one whose instrument it is likeliest; else empty.
        beside: how likely it is there together with another; that is a part of what `SEVERAL` has.

    """

    fault: Fault
    together: tuple[Fault, ...]
    probability: float
    evidence_for: tuple[Evidence, ...]
    evidence_against: tuple[Evidence, ...]
    next_check: Sentence
    held_back: Sentence | None
    rule_out_first: Fault | None
    channel: str = ""
    beside: float = 0.0

    @property
    def there(self) -> float:
        """How likely it is there at all, alone or beside another."""
        return self.probability + self.beside


def explain(
    observations: Situation,
    *,
    something_is_wrong: bool = False,
    ruled_out: Collection[Fault] = (),
    not_seen: Collection[Fault] = (),
) -> tuple[Cause, ...]:
    """Rank what may be wrong with a unit that runs and has settled, the likeliest first.

    Behind what explains the readings best by itself, the others stand by how likely they are there at all: where one
    leads and a second may be there beside it, that is what to look at next (docs/decisions/0045).

    Args:
        observations: what is known of it.
        something_is_wrong: whether that is known otherwise, by an alarm or by the figure that shows the charge; then
            `NOTHING_WRONG` has no chance.
        ruled_out: what cannot be, by what is known otherwise.
        not_seen: what was looked for and not seen; it cannot be, unless all together still leaves it open.

    Returns:
        Every `Fault` that such a unit can have, with its probability. Without a single figure, those are what they
        were before.

    Raises:
        UnknownNameError: an unknown refrigerant or metering device.
        CalcRangeError: a pressure without saturation, a temperature that is none of air.

    >>> from calc.estimate import Estimate
    >>> seen = Observations(  # a ground-source manual, undercharged: superheat 25 to 30, subcooling 6 to 8 °F
    ...     refrigerant="R-410A",
    ...     metering_device="txv",
    ...     target_subcooling_dk=11 / 1.8,
    ...     measured={
    ...         "suction_pressure": Estimate(820e3, 7e3),  # dew point 0.9 °C
    ...         "suction_line_temperature": Estimate(274.1 + 27 / 1.8, 0.3),
    ...         "liquid_pressure": Estimate(2300e3, 7e3),  # bubble point 37.3 °C
    ...         "liquid_line_temperature": Estimate(310.4 - 5 / 1.8, 0.3),
    ...         "return_air_temperature": Estimate(297.0, 0.2),
    ...         "supply_air_temperature": Estimate(287.5, 0.2),
    ...         "outdoor_air_temperature": Estimate(301.0, 0.2),
    ...     },
    ... )
    >>> explain(seen)[0].fault.value
    'undercharge'

    """
    seen = departures(observations)
    off = slips(seen, observations)
    causes = _causes(observations.metering_device or "none", was_sound=bool(observations.found_sound))
    compared = _Compared.of(seen, causes, off).looked(observations.looked)
    without = {*ruled_out, *((Fault.NOTHING_WRONG,) if something_is_wrong else ())}
    weighed = compared.open_before(Fault.OVERCHARGE, without)
    without |= {fault for fault in not_seen if weighed[fault] <= STILL_OPEN}
    probabilities = compared.probabilities(without)
    clamps = {"liquid_line_temperature", FIGURE_INPUTS[governing_figure(observations.metering_device or "none")][1]}
    rests_on = {charge: compared.rests_on(charge, off, without, clamps) for charge in _JUDGED_BEFORE}
    clear = _looked_clear(observations.looked, probabilities)
    before = {charge: compared.open_before(charge, without) for charge in _JUDGED_BEFORE}
    held_back = {
        charge: held
        for charge in _JUDGED_BEFORE
        if (held := _held_back(charge, before[charge], seen.missing, rests_on[charge], clear)) is not None
    }
    channel = rests_on[max(rests_on, key=lambda charge: probabilities[charge])] or compared.slipped(off)
    is_unseen = any(figure in seen.missing and fault not in clear for figure, fault, _ in _MUST_BE_SEEN)
    capped = _capped(probabilities, held_back.keys() if is_unseen else ())
    beside = compared.beside(probabilities[Fault.SEVERAL], without)
    first = max(capped, key=lambda fault: capped[fault])
    ranked = sorted(capped, key=lambda fault: (fault is not first, -capped[fault] - beside[fault]))
    likeliest_fault = max((it for it in capped if it is not Fault.NOTHING_WRONG), key=lambda fault: capped[fault])
    against = {fault: likeliest_fault if fault is Fault.NOTHING_WRONG else Fault.NOTHING_WRONG for fault in ranked}
    marginals = compared.marginals()
    weights = {fault: np.log(marginals[fault] / marginals[against[fault]]).tolist() for fault in ranked}
    evidence = {fault: [Evidence(*piece) for piece in zip(seen.found, weights[fault], strict=True)] for fault in ranked}
    return tuple(
        Cause(
            fault=fault,
            together=compared.together(without) if fault is Fault.SEVERAL else (),
            probability=capped[fault],
            evidence_for=_speaking(evidence[fault], 1.0),
            evidence_against=_speaking(evidence[fault], -1.0),
            next_check=check_of(channel)
            if fault is Fault.INSTRUMENT_OFF
            else _next_check(fault, evidence[fault], observations, is_held_back=fault in held_back),
            held_back=held_back[fault].reason if fault in held_back else None,
            rule_out_first=held_back[fault].by if fault in held_back else None,
            channel=channel if fault is Fault.INSTRUMENT_OFF else "",
            beside=beside[fault],
        )
        for fault in ranked
    )


class _Candidate(NamedTuple):
    """One cause at one size. parts: the faults in it. share: its prior.

    shifts: what each part does to each of `FIGURES`, one row for each of two parts; of one, the second is nothing
    [K or 1].
    """

    fault: Fault
    parts: tuple[Fault, ...]
    share: float
    shifts: Array


@cache
def _causes(metering_device: str, *, was_sound: bool) -> tuple[_Candidate, ...]:
    """List every cause at every size of it. was_sound: whether this unit was found sound before."""
    prior = dict(_PRIOR)
    if was_sound:
        alone = (1 - _SEVERAL_SINCE_SOUND) / (1 - prior[Fault.SEVERAL])
        prior = {fault: share * alone for fault, share in prior.items()} | {Fault.SEVERAL: _SEVERAL_SINCE_SOUND}
    kind = "fixed_orifice" if metering_device == "fixed_orifice" else "valve"
    sizes = {fault: _signatures()[kind, fault] for fault in SINGLE_FAULTS if (kind, fault) in _signatures()}
    nothing = np.zeros(len(FIGURES))
    causes = [
        _Candidate(Fault.NOTHING_WRONG, (), prior[Fault.NOTHING_WRONG], np.array([nothing, nothing])),
        _Candidate(Fault.NOT_ONE_OF_THESE, (), prior[Fault.NOT_ONE_OF_THESE], np.array([nothing, nothing])),
    ]
    for fault, rows in sizes.items():
        share = prior[fault] / len(rows)
        causes += [_Candidate(fault, (fault,), share, np.array([row, nothing])) for row in rows]
    paired = [fault for fault in sizes if fault is not Fault.OVERFEEDING]
    pairs = [pair for pair in combinations(paired, 2) if pair != tuple(_JUDGED_BEFORE)]
    together = {pair: prior[pair[0]] * prior[pair[1]] for pair in pairs}
    for pair in pairs:
        both = list(product(sizes[pair[0]], sizes[pair[1]]))
        share = prior[Fault.SEVERAL] * together[pair] / sum(together.values()) / len(both)
        causes += [_Candidate(Fault.SEVERAL, pair, share, np.array(shifts)) for shifts in both]
    return tuple(causes)


@cache
def _signatures() -> Mapping[tuple[str, Fault], tuple[Array, ...]]:
    """Read the signatures: in °F, loads in shares of the rated amps."""
    text = files("calc.data").joinpath("fault_signatures.csv").read_text("utf-8")
    table: dict[tuple[str, Fault], tuple[Array, ...]] = {}
    for row in csv.DictReader(text.splitlines()):
        shifts = np.array([float(row[name]) for name in FIGURES]) * _units(FIGURES)
        key = row["metering"], Fault(row["fault"])
        table[key] = (*table.get(key, ()), shifts)
    return table


def _units(names: Sequence[str]) -> Array:
    return np.array([1.0 if name.endswith("_load") else FAHRENHEIT_DK for name in names])


class _Compared(NamedTuple):
    """What was seen against every cause in a unit of every build, with each instrument sound or one of them off.

    causes: one for each row. shares: what each build and cause were before. off: how often no instrument is off, and
    each of them, by what checks told of it. weighed: what each cause comes to with each instrument off, over all
    builds, before it is known how often that is. apart: of each figure by itself, as a density, by cause, figure and
    instrument.
    """

    causes: tuple[_Candidate, ...]
    shares: Array
    off: Array
    weighed: Array
    apart: Array

    @classmethod
    def of(cls, seen: Departures, causes: tuple[_Candidate, ...], off: Sequence[Slip]) -> "_Compared":
        columns = [FIGURES.index(departure.name) for departure in seen.found]
        least = [
            min(-departure.expected.value, 0.0) if departure.name in _NEVER_BELOW_ZERO else -np.inf
            for departure in seen.found
        ]
        names = [departure.name for departure in seen.found]
        dry_dk = next((it.expected.value for it in seen.found if it.name == "superheat"), _SUPERHEAT_DK)
        moved, wet_dk2 = _boiling_in_the_shell(np.array([it.shifts for it in causes]), dry_dk)
        parts = moved[:, :, columns]
        shifts = np.maximum(parts.sum(axis=1), least)
        changes = _Answers.of(names).covariances(causes, np.maximum(parts, least))
        if "discharge_superheat" in names:
            discharge = names.index("discharge_superheat")
            changes[:, discharge, discharge] += wet_dk2
        observed = np.array([departure.departure.value for departure in seen.found])
        rests = np.array([observed - build.departures - shifts for build in seen.builds])
        covariances = np.array([build.covariance + changes for build in seen.builds])
        shares = np.outer([build.share for build in seen.builds], [cause.share for cause in causes])
        spreads = np.array([np.zeros(len(columns)), *(slip.spread for slip in off)])
        middles = np.array([0.0, *(slip.middle for slip in off)])
        logarithms = _logarithms(rests, covariances, spreads, middles)
        variances = np.diagonal(covariances, axis1=2, axis2=3)
        weights = shares / shares.sum(axis=0)
        apart = np.einsum("bi,bijk->ijk", weights, _densities(rests, variances, spreads, middles))
        return cls(
            causes,
            shares,
            np.array([1.0 - sum(slip.share for slip in off), *(slip.share * slip.told for slip in off)]),
            np.einsum("bi,bik->ik", shares, np.exp(logarithms - logarithms.max())),
            apart,
        )

    def looked(self, looked: Mapping[str, Seen]) -> "_Compared":
        """Weigh in what was looked for, and what was seen of it."""
        seen = np.array([likelihood(looked, [fault.value for fault in cause.parts]) for cause in self.causes])
        return self._replace(weighed=self.weighed * seen[:, np.newaxis])

    def odds(self) -> Array:
        """Give what each cause and instrument come to, by Bayes' rule."""
        return self.weighed * self.off

    def probabilities(self, without: Collection[Fault] = ()) -> dict[Fault, float]:
        """Apply Bayes' rule; without: what is ruled out beforehand, alone or together with something else."""
        odds = dict.fromkeys([*(cause.fault for cause in self.causes), Fault.INSTRUMENT_OFF], 0.0)
        for cause, parts in zip(self.causes, self.odds(), strict=True):
            if cause.fault is Fault.NOTHING_WRONG:
                odds[cause.fault] += float(parts[0])
                odds[Fault.INSTRUMENT_OFF] += float(parts[1:].sum())
            elif not {cause.fault, *cause.parts} & set(without):
                odds[cause.fault] += float(parts.sum())
        left = {fault: 0.0 if fault in without else part for fault, part in odds.items()}
        return {fault: part / sum(left.values()) for fault, part in left.items()}

    def open_before(self, charge: Fault, without: Collection[Fault] = ()) -> dict[Fault, float]:
        """Give how likely each fault is there in the stead of a wrong charge, alone or with another; without: likewise.

        What is there beside a wrong charge leaves it wrong. But air and too much refrigerant look so much alike that
        both together count as air.
        """
        found = self.probabilities(without)
        pairs = self.pairs(without)
        share = found[Fault.SEVERAL] / (sum(pairs.values()) + _LEAST_DENSITY)
        for pair, odds in pairs.items():
            for fault in pair:
                if charge not in pair or fault is Fault.NON_CONDENSABLES:
                    found[fault] += share * odds
        return found

    def beside(self, several: float, without: Collection[Fault] = ()) -> dict[Fault, float]:
        """Give how likely each fault is there beside another; several: how likely two are. without: likewise."""
        found, pairs = dict.fromkeys(Fault, 0.0), self.pairs(without)
        whole = sum(pairs.values()) + _LEAST_DENSITY
        for pair, odds in pairs.items():
            for fault in pair:
                found[fault] += several * odds / whole
        return found

    def pairs(self, without: Collection[Fault] = ()) -> dict[tuple[Fault, ...], float]:
        """Give what two faults at once come to, over all their sizes; without: likewise."""
        pairs = dict[tuple[Fault, ...], float]()
        for cause, odds in zip(self.causes, self.odds().sum(axis=1).tolist(), strict=True):
            if cause.fault is Fault.SEVERAL and not {cause.fault, *cause.parts} & set(without):
                pairs[cause.parts] = pairs.get(cause.parts, 0.0) + odds
        return pairs

    def together(self, without: Collection[Fault] = ()) -> tuple[Fault, ...]:
        """Name the two faults that explain most together; none where that is ruled out."""
        pairs = self.pairs(without)
        return max(pairs, key=lambda pair: pairs[pair], default=())

    def slipped(self, off: Sequence[Slip]) -> str:
        """Name the channel whose instrument is likeliest off in a sound unit; empty where none can be."""
        parts = self.odds()[self._sound(), 1:]
        return off[int(parts.argmax())].channel if off else ""

    def rests_on(self, charge: Fault, off: Sequence[Slip], without: Collection[Fault], clamps: Collection[str]) -> str:
        """Name the channel whose instrument alone makes it this charge; empty where there is none.

        Were that one off, the other figures would leave too little of it, or something that must be ruled out before
        would not be, two faults at once left aside. One that was checked, or that nothing is at hand to check by, is
        not asked for.
        """
        before = _JUDGED_BEFORE[charge]
        if Fault.INSTRUMENT_OFF in without:
            return ""
        parts = self.weighed.copy()
        for index, cause in enumerate(self.causes):
            if {cause.fault, *cause.parts} & set(without):
                parts[index, : 1 if cause.fault is Fault.NOTHING_WRONG else None] = 0.0
        whole = parts.sum(axis=0) + _LEAST_DENSITY
        shares = parts[[charge in cause.parts for cause in self.causes]].sum(axis=0) / whole
        single = whole - parts[[cause.fault is Fault.SEVERAL for cause in self.causes]].sum(axis=0)
        others = [parts[[it is cause.fault for cause in self.causes]].sum(axis=0) / single for it in before]
        limits = [*(RULED_OUT for _ in before[:-1]), min(max(_OPENS, _OPENS_TIMES * others[-1][0]), RULED_OUT)]
        is_ruled_out = all(part[0] <= _ruled_out(it) for it, part in zip(before, others, strict=True))
        is_open = [
            is_ruled_out and any(part[index] > limit for part, limit in zip(others, limits, strict=True))
            for index in range(len(shares))
        ]
        left = {
            slip.channel: (float(part / max(shares[0], _LEAST_DENSITY)), opens)
            for slip, part, opens in zip(off, shares[1:], is_open[1:], strict=True)
            if slip.can_be_checked
        }
        alone = {
            channel: part
            for channel, (part, opens) in left.items()
            if opens or part < (STANDS_WITHOUT_A_CLAMP if channel in clamps else STANDS_WITHOUT)
        }
        return min(alone, key=lambda channel: alone[channel], default="")

    def _sound(self) -> int:
        return next(index for index, cause in enumerate(self.causes) if cause.fault is Fault.NOTHING_WRONG)

    def marginals(self) -> dict[Fault, Array]:
        """Give how likely each figure is by itself, under each fault."""
        shares, rows = self.shares.sum(axis=0), dict[Fault, list[int]]()
        for index, cause in enumerate(self.causes):
            rows.setdefault(cause.fault, []).append(index)
        mixed = self.apart @ self.off / self.off.sum()
        found = {fault: shares[of] @ mixed[of] / shares[of].sum() + _LEAST_DENSITY for fault, of in rows.items()}
        sound, any_off = self.apart[self._sound()], max(self.off[1:].sum(), _LEAST_DENSITY)
        found[Fault.NOTHING_WRONG] = sound[:, 0] + _LEAST_DENSITY
        found[Fault.INSTRUMENT_OFF] = sound[:, 1:] @ self.off[1:] / any_off + _LEAST_DENSITY
        return found


def _boiling_in_the_shell(parts: Array, dry_dk: float) -> tuple[Array, Array]:
    """Take off the discharge line what liquid in the suction line takes there, and give how little that is known [K²].

    Superheat ends at 0. What faults would lower it by beyond, reaches the compressor as liquid, and boils in its heat.
    parts: what each part of each cause does to each of `FIGURES`. dry_dk: the superheat of the unit without a fault.
    """
    superheat, discharge = FIGURES.index("superheat"), FIGURES.index("discharge_superheat")
    beyond_dk = np.minimum(parts[:, :, superheat].sum(axis=1) + max(dry_dk, 0.0), 0.0)
    lowering_dk = np.minimum(parts[:, :, superheat], 0.0) - _LEAST_DENSITY
    colder = parts.copy()
    colder[:, :, discharge] += (_WET * beyond_dk / lowering_dk.sum(axis=1))[:, np.newaxis] * lowering_dk
    return colder, np.where(beyond_dk < 0, (_WET * _WET_DK) ** 2, 0.0)


def _logarithms(rests: Array, covariances: Array, spreads: Array, middles: Array) -> Array:
    """Give the logarithm of how likely what rests is, where each instrument in turn adds its spread.

    One instrument adds one direction to a covariance, so that its inverse and determinant follow from those without it
    (Sherman and Morrison 1950; the matrix determinant lemma).
    """
    count, _, figures = rests.shape
    beside = np.broadcast_to(spreads.T, (count, len(rests[0]), figures, len(spreads)))
    solved = np.linalg.solve(covariances, np.concatenate((rests[..., np.newaxis], beside), axis=3))
    square = np.einsum("bij,bij->bi", rests, solved[..., 0])[..., np.newaxis]
    across = np.einsum("kj,bij->bik", spreads, solved[..., 0])
    along = np.einsum("kj,bijk->bik", spreads, solved[..., 1:])
    moved = square - 2 * middles * across + middles**2 * along
    explained = (across - middles * along) ** 2 / (1 + along)
    determinant = np.linalg.slogdet(covariances)[1][..., np.newaxis] + np.log1p(along)
    result: Array = -(moved - explained + determinant) / 2
    return result


def _densities(rests: Array, variances: Array, spreads: Array, middles: Array) -> Array:
    """Likewise of each figure by itself, as a density."""
    spread = variances[..., np.newaxis] + spreads.T**2
    over = rests[..., np.newaxis] - (middles[:, np.newaxis] * spreads).T
    result: Array = np.exp(-(over**2) / spread / 2) / np.sqrt(spread)
    return result


class _Answers(NamedTuple):
    """How differently units answer one and the same cause.

    What answers by itself is the temperature at which the refrigerant condenses, and that of the liquid line over the
    outdoor air: subcooling is the one less the other, so that a change which leaves the liquid line alone, as air in
    the system does, moves both figures alike.

    loads: whether a figure is one. mixing: the figures of what answers by itself; it is its own inverse. least: how far
    that varies at least [K or 1].
    """

    loads: NDArray[np.bool_]
    mixing: Array
    least: Array

    @classmethod
    def of(cls, names: Sequence[str]) -> "_Answers":
        loads = np.array([name.endswith("_load") for name in names], dtype=bool)
        mixing, least = np.eye(len(names)), np.where(loads, _CHANGE_LOAD, _CHANGE_DK)
        if "subcooling" in names and "condensing_over_outdoor" in names:
            subcooling, condensing = names.index("subcooling"), names.index("condensing_over_outdoor")
            mixing[subcooling, [condensing, subcooling]] = 1.0, -1.0
            least[subcooling] = _CHANGE_LIQUID_LINE_DK
        return cls(loads, mixing, least)

    def covariances(self, causes: Sequence[_Candidate], parts: Array) -> Array:
        """Give the covariance that comes with each cause itself: of two faults each has its own size."""
        aside = _ASIDE**2 * ((parts @ self.mixing.T) ** 2).sum(axis=1) + self.least**2
        together: Array = np.einsum("npi,npj->nij", parts, parts) * _ALONG**2
        together += np.einsum("ij,nj,kj->nik", self.mixing, aside, self.mixing)
        for index, cause in enumerate(causes):
            if cause.fault is Fault.NOTHING_WRONG:
                together[index] = 0.0
            elif cause.fault is Fault.NOT_ONE_OF_THESE:
                together[index] = np.diag(np.where(self.loads, _UNKNOWN_LOAD, _UNKNOWN_DK) ** 2)
        return together


class _Held(NamedTuple):
    """What holds a wrong charge back, and what to do about it."""

    by: Fault
    reason: Sentence


def next_check(fault: Fault) -> Sentence:
    """Say what would settle whether it is this fault."""
    return Sentence(f"check.{fault.name.lower()}")


def _next_check(fault: Fault, evidence: Sequence[Evidence], observations: Situation, *, is_held_back: bool) -> Sentence:
    """Say likewise what is next of what was seen already: nobody is asked for the same check twice."""
    if fault is Fault.OVERCHARGE and not is_held_back:
        return Sentence("check.overcharge_alone")
    rest = next((piece.departure.departure for piece in evidence if piece.departure.name == "rest_over_outdoor"), None)
    if fault is Fault.NON_CONDENSABLES and rest_tells_nothing(observations):
        return Sentence("check.non_condensables_untold")
    if fault is not Fault.NON_CONDENSABLES or rest is None:
        return next_check(fault)
    is_seen = rest.value > _SURE * rest.standard_uncertainty
    return Sentence("check.non_condensables_seen" if is_seen else "check.non_condensables_open")


def check_of(channel: str) -> Sentence:
    """Say how to see whether the instrument of a channel is off, there where it measures; empty: of any."""
    if not channel:
        return next_check(Fault.INSTRUMENT_OFF)
    kind = next((kind for ending, kind in _CHECKED_HOW.items() if channel.endswith(ending)), "air")
    return Sentence(f"check.instrument_off_{kind}", (term("channels", channel),))


_CHECKED_HOW = {"line_temperature": "pipe", "pressure": "pressure", "current": "current"}


def _looked_clear(looked: Mapping[str, Seen], probabilities: Mapping[Fault, float]) -> frozenset[Fault]:
    """Give what was looked for and not seen, unless all together leaves it open: no figure need be measured for it.

    A look that is careless, or misses what is inside, costs nobody a touch: by itself it lifts no hold of the figures.
    """
    return frozenset(
        fault for fault, left in probabilities.items() if looked.get(fault.value) == "clear" and left <= STILL_OPEN
    )


def _held_back(
    charge: Fault,
    probabilities: Mapping[Fault, float],
    missing: Sequence[str],
    rests_on: str = "",
    clear: Collection[Fault] = (),
) -> _Held | None:
    """Say what must be ruled out before this charge may be blamed, the likeliest of it; None if all is.

    clear: what was looked for and not seen.

    Where it rests on one clamp alone, a second clamp takes a minute, and a rest to see air half an hour or more: the
    clamp comes first, and the rest is asked for after it, if it still is (common practice, no source).
    """
    for figure, fault, measure in _MUST_BE_SEEN:
        if figure in missing and fault not in clear:
            return _Held(fault, Sentence("held_back.unseen", (term("fault", fault.value), term("measure", *measure))))
    left = [it for it in _JUDGED_BEFORE[charge] if probabilities[it] > _ruled_out(it)]
    first = max(left, key=lambda before: probabilities[before], default=None)
    is_quick = first is Fault.NON_CONDENSABLES and rests_on.endswith("line_temperature")
    if first is not None and not is_quick:
        return _Held(first, Sentence(f"held_back.{first.name.lower()}"))
    if rests_on:
        return _Held(Fault.INSTRUMENT_OFF, Sentence("held_back.instrument_off", (term("channels", rests_on),)))
    return None


def _ruled_out(fault: Fault) -> float:
    """Give the probability below which it counts as ruled out before a wrong charge is blamed."""
    return _AIR_RULED_OUT if fault is Fault.NON_CONDENSABLES else RULED_OUT


def _capped(probabilities: Mapping[Fault, float], held_back: Collection[Fault]) -> dict[Fault, float]:
    """Keep a wrong charge from the blame while it is held back; what is over goes to what must be ruled out first."""
    capped = dict(probabilities)
    for charge in held_back:
        over = max(probabilities[charge] - MOST_WHILE_HELD_BACK, 0.0)
        before = {fault: probabilities[fault] + _LEAST_DENSITY for fault in _JUDGED_BEFORE[charge]}
        capped[charge] -= over
        for fault, part in before.items():
            capped[fault] += over * part / sum(before.values())
    return capped


def _speaking(evidence: Sequence[Evidence], sign: float) -> tuple[Evidence, ...]:
    """Give what speaks for (1) or against (-1), the strongest first."""
    telling = [piece for piece in evidence if sign * piece.weight > _TELLING]
    return tuple(sorted(telling, key=lambda piece: -sign * piece.weight))
