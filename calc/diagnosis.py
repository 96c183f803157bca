"""What is wrong with a unit? Every cause that would explain the readings, with its probability.

Each cause moves the figures in its own way (calc/data/fault_signatures.csv): the directions are published, the sizes
are typical and wide. What is measured is compared with every one of them, as departures from a sound unit, with the
uncertainty of instruments and expectations; Bayes' rule turns that into probabilities. Nothing may be wrong, several
things may be, or something that is not in the list. Charge is judged last: while air flow or heat rejection is not
ruled out, it is not blamed.
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

from calc.sentences import Sentence, term
from calc.situation import Situation
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
    NOT_ONE_OF_THESE = "not one of these"


SINGLE_FAULTS = tuple(
    fault for fault in Fault if fault not in (Fault.NOTHING_WRONG, Fault.SEVERAL, Fault.NOT_ONE_OF_THESE)
)

_PRIOR: Mapping[Fault, float] = MappingProxyType(
    {
        Fault.NOTHING_WRONG: 0.31,
        Fault.UNDERCHARGE: 0.12,
        Fault.OVERCHARGE: 0.08,
        Fault.LOW_EVAPORATOR_AIRFLOW: 0.10,
        Fault.CONDENSER_FOULING: 0.10,
        Fault.RESTRICTION: 0.06,
        Fault.VALVE_LEAKAGE: 0.06,
        Fault.NON_CONDENSABLES: 0.06,
        Fault.OVERFEEDING: 0.05,
        Fault.SEVERAL: 0.04,
        Fault.NOT_ONE_OF_THESE: 0.02,
    }
)
"""How likely each is before anything is measured: common practice, no source."""

MOST_WHILE_HELD_BACK = 0.5
"""The probability that a wrong charge gets at most while another cause of the same readings is not ruled out."""

RULED_OUT = 0.1
"""The probability below which a cause counts as ruled out."""

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

_ALONG, _ASIDE = 0.25, 0.2  # how far a fault's changes vary: all together, and each by itself, as a share of them
_CHANGE_DK, _CHANGE_LIQUID_LINE_DK, _CHANGE_LOAD = 1.0, 0.5, 0.02  # and at least
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

    """

    fault: Fault
    together: tuple[Fault, ...]
    probability: float
    evidence_for: tuple[Evidence, ...]
    evidence_against: tuple[Evidence, ...]
    next_check: Sentence
    held_back: Sentence | None
    rule_out_first: Fault | None


def explain(
    observations: Situation, *, something_is_wrong: bool = False, ruled_out: Collection[Fault] = ()
) -> tuple[Cause, ...]:
    """Rank what may be wrong with a unit that runs and has settled, the likeliest first.

    Args:
        observations: what is known of it.
        something_is_wrong: whether that is known otherwise, by an alarm or by the figure that shows the charge; then
            `NOTHING_WRONG` has no chance.
        ruled_out: what cannot be, by what is known otherwise.

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
    compared = _Compared.of(seen, _causes(observations.metering_device or "none"))
    probabilities = compared.probabilities({*ruled_out, *((Fault.NOTHING_WRONG,) if something_is_wrong else ())})
    held_back = {
        charge: held
        for charge in _JUDGED_BEFORE
        if (held := _held_back(charge, probabilities, seen.missing)) is not None
    }
    capped = _capped(probabilities, held_back.keys())
    ranked = sorted(capped, key=lambda fault: -capped[fault])
    likeliest_fault = next(fault for fault in ranked if fault is not Fault.NOTHING_WRONG)
    against = {fault: likeliest_fault if fault is Fault.NOTHING_WRONG else Fault.NOTHING_WRONG for fault in ranked}
    weights = {fault: compared.weights(fault, against[fault]) for fault in ranked}
    evidence = {fault: [Evidence(*piece) for piece in zip(seen.found, weights[fault], strict=True)] for fault in ranked}
    return tuple(
        Cause(
            fault=fault,
            together=compared.together() if fault is Fault.SEVERAL else (),
            probability=capped[fault],
            evidence_for=_speaking(evidence[fault], 1.0),
            evidence_against=_speaking(evidence[fault], -1.0),
            next_check=_next_check(fault, evidence[fault], observations, is_held_back=fault in held_back),
            held_back=held_back[fault].reason if fault in held_back else None,
            rule_out_first=held_back[fault].by if fault in held_back else None,
        )
        for fault in ranked
    )


class _Candidate(NamedTuple):
    """One cause at one size. parts: the faults in it. share: its prior. shifts: of each of `FIGURES` [K or 1]."""

    fault: Fault
    parts: tuple[Fault, ...]
    share: float
    shifts: Array


@cache
def _causes(metering_device: str) -> tuple[_Candidate, ...]:
    """List every cause at every size of it."""
    kind = "fixed_orifice" if metering_device == "fixed_orifice" else "valve"
    sizes = {fault: _signatures()[kind, fault] for fault in SINGLE_FAULTS if (kind, fault) in _signatures()}
    nothing = np.zeros(len(FIGURES))
    causes = [
        _Candidate(Fault.NOTHING_WRONG, (), _PRIOR[Fault.NOTHING_WRONG], nothing),
        _Candidate(Fault.NOT_ONE_OF_THESE, (), _PRIOR[Fault.NOT_ONE_OF_THESE], nothing),
    ]
    for fault, rows in sizes.items():
        share = _PRIOR[fault] / len(rows)
        causes += [_Candidate(fault, (fault,), share, row) for row in rows]
    paired = [fault for fault in sizes if fault is not Fault.OVERFEEDING]
    pairs = [pair for pair in combinations(paired, 2) if pair != tuple(_JUDGED_BEFORE)]
    for pair in pairs:
        both = [first + second for first, second in product(sizes[pair[0]], sizes[pair[1]])]
        share = _PRIOR[Fault.SEVERAL] / len(pairs) / len(both)
        causes += [_Candidate(Fault.SEVERAL, pair, share, shifts) for shifts in both]
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
    """What was seen against every cause: rests and covariances have a row for each cause [K or 1]."""

    causes: tuple[_Candidate, ...]
    rests: Array
    covariances: Array

    @classmethod
    def of(cls, seen: Departures, causes: tuple[_Candidate, ...]) -> "_Compared":
        columns = [FIGURES.index(departure.name) for departure in seen.found]
        least = [
            min(-departure.expected.value, 0.0) if departure.name in _NEVER_BELOW_ZERO else -np.inf
            for departure in seen.found
        ]
        shifts = np.maximum(np.array([cause.shifts for cause in causes])[:, columns], least)
        answers = _Answers.of([departure.name for departure in seen.found])
        covariances = [
            seen.covariance + answers.covariance(cause, shift) for cause, shift in zip(causes, shifts, strict=True)
        ]
        observed = np.array([departure.departure.value for departure in seen.found])
        return cls(causes, observed - shifts, np.array(covariances).reshape(len(causes), *seen.covariance.shape))

    def likelihoods(self) -> Array:
        """Compute how likely what was seen is under each cause, the likeliest being 1."""
        solved = np.linalg.solve(self.covariances, self.rests[:, :, np.newaxis])[:, :, 0]
        distances = np.einsum("ij,ij->i", self.rests, solved)
        logarithms = -(distances + np.linalg.slogdet(self.covariances)[1]) / 2
        likelihoods: Array = np.exp(logarithms - logarithms.max())
        return likelihoods

    def probabilities(self, without: Collection[Fault] = ()) -> dict[Fault, float]:
        """Apply Bayes' rule; without: what is ruled out beforehand."""
        odds = {cause.fault: 0.0 for cause in self.causes}
        for cause, likelihood in zip(self.causes, self.likelihoods(), strict=True):
            odds[cause.fault] += cause.share * float(likelihood) if cause.fault not in without else 0.0
        return {fault: part / sum(odds.values()) for fault, part in odds.items()}

    def together(self) -> tuple[Fault, ...]:
        """Name the two faults that explain most together."""
        likelihoods = self.likelihoods()
        several = [index for index, cause in enumerate(self.causes) if cause.fault is Fault.SEVERAL]
        return self.causes[max(several, key=lambda index: float(likelihoods[index]))].parts

    def weights(self, fault: Fault, other: Fault) -> list[float]:
        """Weigh each figure by itself: the logarithm of how much likelier one fault makes it than the other."""
        return [float(weight) for weight in np.log(self._marginals(fault) / self._marginals(other))]

    def _marginals(self, fault: Fault) -> Array:
        rows = [index for index, cause in enumerate(self.causes) if cause.fault is fault]
        shares = np.array([self.causes[row].share for row in rows])
        variances = np.diagonal(self.covariances[rows], axis1=1, axis2=2)
        densities = np.exp(-(self.rests[rows] ** 2) / variances / 2) / np.sqrt(variances)
        marginals: Array = shares @ densities / shares.sum() + _LEAST_DENSITY
        return marginals


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

    def covariance(self, cause: _Candidate, shifts: Array) -> Array:
        """Give the covariance that comes with a cause itself."""
        if cause.fault is Fault.NOT_ONE_OF_THESE:
            unknown: Array = np.diag(np.where(self.loads, _UNKNOWN_LOAD, _UNKNOWN_DK) ** 2)
            return unknown
        if cause.fault is Fault.NOTHING_WRONG:
            return np.zeros((shifts.size, shifts.size))
        aside = (_ASIDE * (self.mixing @ shifts)) ** 2 + self.least**2
        together: Array = np.outer(shifts, shifts) * _ALONG**2 + self.mixing * aside @ self.mixing.T
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


def _held_back(charge: Fault, probabilities: Mapping[Fault, float], missing: Sequence[str]) -> _Held | None:
    """Say what must be ruled out before this charge may be blamed, the likeliest of it; None if all is."""
    for figure, fault, measure in _MUST_BE_SEEN:
        if figure in missing:
            return _Held(fault, Sentence("held_back.unseen", (term("fault", fault.value), term("measure", *measure))))
    fault = max(_JUDGED_BEFORE[charge], key=lambda before: probabilities[before])
    if probabilities[fault] > RULED_OUT:
        return _Held(fault, Sentence(f"held_back.{fault.name.lower()}"))
    return None


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
