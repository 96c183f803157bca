"""What the judge makes of random cases, and what the plain protocol makes of them."""

from collections.abc import Mapping
from typing import NamedTuple

from calc.diagnosis import Fault, Observations, explain
from calc.estimate import Estimate
from tests.judge import plain_protocol
from tests.judge.cases import ACCURACIES, NO_FAULT, Case, draw_cases

FULL_NAME = {"condenser fouling": Fault.CONDENSER_FOULING.value}
CHARGE = (Fault.UNDERCHARGE.value, Fault.OVERCHARGE.value)
CATEGORIES = ("correct", "no response", "false alarm", "missed detection", "misdiagnosis")
"""As in Yuill and Braun, Purdue IRACC 2012, paper 1307."""


class Answer(NamedTuple):
    """The judge's answer: every fault with its probability, the likeliest first, and whether the first is held back."""

    ranking: list[tuple[str, float]]
    held_back: bool

    @property
    def response(self) -> str:
        """What it says is wrong; a charge that is held back, and a fault not in the list, are no response."""
        first = self.ranking[0][0]
        return plain_protocol.NO_RESPONSE if self.held_back or first == Fault.NOT_ONE_OF_THESE else first


class Judged(NamedTuple):
    """One case: what is true, and what was said of it."""

    truth: str
    metering_device: str
    running: Answer
    with_rest: Answer
    plain: str


def judge_unit(seed: int) -> list[Judged]:
    """Ask for the cause in each case of a unit: from the running unit alone, and with its pressure at rest too."""
    return [
        Judged(
            truth=FULL_NAME.get(case.truth, case.truth),
            metering_device=case.design.metering_device,
            running=_answer(case, {}),
            with_rest=_answer(case, case.readings_at_rest),
            plain=FULL_NAME.get(plain := plain_protocol.diagnose(case), plain),
        )
        for case in draw_cases(seed)
    ]


def _answer(case: Case, at_rest: Mapping[str, float]) -> Answer:
    explained = explain(
        Observations(
            refrigerant=case.parameters.refrigerant,
            metering_device=case.design.metering_device,
            measured=_estimates(case.readings),
            at_rest=_estimates(at_rest),
            target_subcooling_dk=case.design.target_subcooling_dk,
            compressor_rla_a=case.design.compressor_rla_a,
        )
    )
    ranking = [(found.fault.value, round(found.probability, 4)) for found in explained]
    return Answer(ranking, bool(explained[0].held_back))


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
