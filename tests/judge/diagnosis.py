"""What the judge makes of random cases, and what the plain protocol makes of them."""

from collections.abc import Mapping, Sequence
from typing import NamedTuple

from calc.diagnosis import Cause, Fault, Observations, explain
from calc.estimate import Estimate
from calc.judge.state import LIKELIER_THAN_NOT
from tests.judge import plain_protocol
from tests.judge.cases import ACCURACIES, NO_FAULT, OWN, Case
from tests.judge.families import AnyFamily, draw_cases

FULL_NAME = {"condenser fouling": Fault.CONDENSER_FOULING.value}
CHARGE = (Fault.UNDERCHARGE.value, Fault.OVERCHARGE.value)
CATEGORIES = ("correct", "no response", "false alarm", "missed detection", "misdiagnosis")
"""As in Yuill and Braun, Purdue IRACC 2012, paper 1307."""


class Answer(NamedTuple):
    """The judge's answer.

    ranking: every fault with its probability, the likeliest first. rule_out_first: where the first is a charge that is
    held back, what the technician is sent to rule out before; else None.
    """

    ranking: list[tuple[str, float]]
    rule_out_first: str | None

    @property
    def held_back(self) -> bool:
        """Whether what comes first may not be blamed yet."""
        return self.rule_out_first is not None

    @property
    def is_known(self) -> bool:
        """Whether anything is likelier than not; else the judge does not know this unit yet."""
        return self.ranking[0][0] != Fault.NOT_ONE_OF_THESE and self.ranking[0][1] > LIKELIER_THAN_NOT

    @property
    def named(self) -> str:
        """The response by its words: what it names first, held back or not."""
        return _response(self.ranking[0][0])

    @property
    def acted_upon(self) -> str:
        """The response by its deed: what the technician is sent to look at first."""
        return _response(self.rule_out_first or self.ranking[0][0])


class Judged(NamedTuple):
    """One case: what is true, and what was said of it."""

    truth: str
    metering_device: str
    running: Answer
    with_rest: Answer
    plain: str


def _response(fault: str) -> str:
    """Take a cause that is not in the list for no response."""
    return plain_protocol.NO_RESPONSE if fault == Fault.NOT_ONE_OF_THESE else fault


def judge_unit(seed: int, family: AnyFamily = OWN) -> list[Judged]:
    """Ask for the cause in each case of a unit: from the running unit alone, and with its pressure at rest too."""
    return [
        Judged(
            truth=FULL_NAME.get(case.truth, case.truth),
            metering_device=case.design.metering_device,
            running=_answer(case, {}),
            with_rest=_answer(case, case.readings_at_rest),
            plain=FULL_NAME.get(plain := plain_protocol.diagnose(case), plain),
        )
        for case in draw_cases(seed, family)
    ]


def _answer(case: Case, at_rest: Mapping[str, float]) -> Answer:
    return answer_of(explain(situation_of(case, at_rest)))


def answer_of(explained: Sequence[Cause]) -> Answer:
    """Take what counts of what is said."""
    ranking = [(found.fault.value, round(found.probability, 4)) for found in explained]
    return Answer(ranking, explained[0].rule_out_first)


def situation_of(case: Case, at_rest: Mapping[str, float]) -> Observations:
    """Put together what the judge gets to see."""
    return Observations(
        refrigerant=case.parameters.refrigerant,
        metering_device=case.design.metering_device,
        measured=_estimates(case.readings),
        at_rest=_estimates(at_rest),
        target_subcooling_dk=case.design.target_subcooling_dk,
        compressor_rla_a=case.design.compressor_rla_a,
        superheat_chart=case.design.superheat_chart,
    )


def _estimates(readings: Mapping[str, float]) -> dict[str, Estimate]:
    return {name: Estimate(value, ACCURACIES[name] / 2) for name, value in readings.items()}


def category(truth: str, response: str) -> str:
    """Sort a response into the published categories."""
    if response == plain_protocol.NO_RESPONSE:
        return "no response"
    if response == truth:
        return "correct"
    if truth == NO_FAULT:
        return "false alarm"
    return "missed detection" if response == NO_FAULT else "misdiagnosis"
