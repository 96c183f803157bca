"""What a look is worth beside the figures; all shares are common practice, no source."""

from dataclasses import replace

import pytest

from calc.diagnosis import STILL_OPEN, Fault, explain
from calc.looks import MISSED, likelihood
from tests.calc.test_diagnosis import observed

AIRFLOW, REJECTION = Fault.LOW_EVAPORATOR_AIRFLOW, Fault.CONDENSER_FOULING


def chances(unit, **looked: str) -> dict[Fault, float]:
    seen = {Fault[name.upper()].value: what for name, what in looked.items()}
    return {cause.fault: cause.probability for cause in explain(replace(unit, looked=seen))}


def test_whatever_is_seen_somebody_sees_something() -> None:
    for fault in MISSED:
        for there in ([], [fault], ["undercharge"]):
            assert likelihood({fault: "clear"}, there) + likelihood({fault: "found"}, there) == pytest.approx(1.0)


def test_what_no_look_tells_counts_for_nothing() -> None:
    assert likelihood({"undercharge": "found", "an instrument that is off": "clear"}, ["undercharge"]) == 1.0


def test_every_cause_that_can_be_looked_at_is_one_of_the_judge() -> None:
    assert MISSED.keys() <= {fault.value for fault in Fault}
    assert not MISSED.keys() & {"undercharge", "overcharge", "non-condensables"}


def test_a_look_moves_the_odds_by_what_it_misses_and_never_to_certainty() -> None:
    """Bayes' rule by hand: a look at the filter that finds nothing, in 35 of 100 where the fault is there."""
    unit = observed(suction_f=38, superheat_f=8, split_f=25)
    before, clear, found = (
        chances(unit),
        chances(unit, low_evaporator_airflow="clear"),
        chances(unit, low_evaporator_airflow="found"),
    )
    odds = [each[AIRFLOW] / each[Fault.NOTHING_WRONG] for each in (before, clear, found)]
    assert odds[1] / odds[0] == pytest.approx(0.35 / 0.85)
    assert odds[2] / odds[0] == pytest.approx(0.65 / 0.15)
    assert 0.0 < clear[AIRFLOW] < before[AIRFLOW] < found[AIRFLOW] < 1.0
    assert sum(clear.values()) == pytest.approx(1.0)


@pytest.mark.parametrize("what", ["clear", "found"])
def test_a_look_at_two_faults_at_once_counts_for_the_pair_as_well(what: str) -> None:
    unit = observed(suction_f=36, condensing_f=128, split_f=25, subcooling_f=8)
    before, after = chances(unit), chances(unit, low_evaporator_airflow=what)
    several = [each[Fault.SEVERAL] / each[Fault.NOTHING_WRONG] for each in (before, after)]
    assert (several[1] > several[0]) is (what == "found")


def low() -> object:
    """Low on charge, and nothing measures what the air over the indoor coil does."""
    return observed(subcooling_f=1, superheat_f=24, suction_f=38, without=("supply_air_temperature",))


def test_what_was_looked_at_holds_a_charge_back_no_more() -> None:
    unit = low()
    held = next(cause for cause in explain(unit) if cause.fault is Fault.UNDERCHARGE)
    assert held.rule_out_first is AIRFLOW
    looked = replace(unit, looked={AIRFLOW.value: "clear"})
    free = next(cause for cause in explain(looked) if cause.fault is Fault.UNDERCHARGE)
    assert free.rule_out_first is not AIRFLOW
    assert free.probability > held.probability


def test_what_was_found_and_not_put_right_holds_it_back_still() -> None:
    looked = replace(low(), looked={AIRFLOW.value: "found"})
    assert next(it for it in explain(looked) if it.fault is Fault.UNDERCHARGE).rule_out_first is AIRFLOW


def test_a_look_does_not_outweigh_figures_that_show_it_all_the_same() -> None:
    """The coil looks clean; all figures say that it rejects too little: it is not let go of by a look."""
    unit = observed(condensing_f=145, subcooling_f=12, load=0.98)
    seen = chances(unit, condenser_fouling="clear")
    assert seen[REJECTION] > STILL_OPEN
    charge = next(
        it for it in explain(replace(unit, looked={REJECTION.value: "clear"})) if it.fault is Fault.OVERCHARGE
    )
    assert charge.held_back is not None
