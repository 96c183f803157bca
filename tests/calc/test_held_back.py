"""Charge is judged last: which wrong charge waits for what, worked out by hand.

Common practice, no source: airflow and heat rejection are looked at before any charge, a restriction before too little
refrigerant and air in the system before too much, because each looks just like it; what is likelier than 10 %, and of
air 5 %, is not ruled out, and a charge that waits is given 50 % at most.
"""

import pytest

from calc.diagnosis import Fault, _capped, _held_back

AIRFLOW, CONDENSER = Fault.LOW_EVAPORATOR_AIRFLOW, Fault.CONDENSER_FOULING
SHARED = [(charge, fault) for charge in (Fault.UNDERCHARGE, Fault.OVERCHARGE) for fault in (AIRFLOW, CONDENSER)]
ALIKE = [(Fault.UNDERCHARGE, Fault.RESTRICTION), (Fault.OVERCHARGE, Fault.NON_CONDENSABLES)]


def probable(**shares: float) -> dict[Fault, float]:
    """Probabilities of these; of the rest 1 %."""
    return {fault: shares.get(fault.name.lower(), 0.01) for fault in Fault}


@pytest.mark.parametrize(("charge", "fault"), SHARED + ALIKE)
def test_a_charge_waits_for_what_is_not_ruled_out(charge: Fault, fault: Fault) -> None:
    limit = 0.05 if fault is Fault.NON_CONDENSABLES else 0.1
    for share, waits in ((limit - 0.01, False), (limit + 0.01, True)):
        held = _held_back(charge, probable(**{charge.name.lower(): 0.6, fault.name.lower(): share}), ())
        assert (held is not None) is waits
        assert held is None or (held.by, held.reason.kind) == (fault, f"held_back.{fault.name.lower()}")


def test_of_two_that_are_not_ruled_out_the_likelier_is_named() -> None:
    held = _held_back(Fault.UNDERCHARGE, probable(condenser_fouling=0.2, low_evaporator_airflow=0.15), ())
    assert held is not None
    assert held.by is CONDENSER


def test_what_is_not_ruled_out_is_named_though_what_is_ruled_out_be_likelier() -> None:
    held = _held_back(Fault.OVERCHARGE, probable(low_evaporator_airflow=0.09, non_condensables=0.06), ())
    assert held is not None
    assert held.by is Fault.NON_CONDENSABLES


@pytest.mark.parametrize(
    ("charge", "fault"),
    [
        (Fault.UNDERCHARGE, Fault.NON_CONDENSABLES),  # they raise subcooling; too little refrigerant lowers it
        (Fault.OVERCHARGE, Fault.RESTRICTION),  # it starves the evaporator; too much refrigerant does not
        (Fault.UNDERCHARGE, Fault.VALVE_LEAKAGE),
        (Fault.UNDERCHARGE, Fault.NOTHING_WRONG),
        (Fault.UNDERCHARGE, Fault.UNDERCHARGE),
    ],
)
def test_a_charge_waits_for_nothing_else(charge: Fault, fault: Fault) -> None:
    assert _held_back(charge, probable(**{fault.name.lower(): 0.4}), ()) is None


@pytest.mark.parametrize(("figure", "fault"), [("air_split", AIRFLOW), ("condensing_over_outdoor", CONDENSER)])
@pytest.mark.parametrize("charge", [Fault.UNDERCHARGE, Fault.OVERCHARGE])
def test_a_charge_waits_for_what_nobody_has_measured(charge: Fault, figure: str, fault: Fault) -> None:
    held = _held_back(charge, probable(), (figure, "compressor_load"))
    assert held is not None
    assert (held.by, held.reason.kind) == (fault, "held_back.unseen")
    assert _held_back(charge, probable(), ("compressor_load",)) is None


def test_what_a_waiting_charge_is_not_given_goes_to_what_it_waits_for_in_proportion() -> None:
    """80 % less 50 % is 30 %, shared as 12 : 6 : 2."""
    before = dict.fromkeys(Fault, 0.0) | {
        Fault.UNDERCHARGE: 0.8,
        AIRFLOW: 0.12,
        CONDENSER: 0.06,
        Fault.RESTRICTION: 0.02,
    }
    after = _capped(before, {Fault.UNDERCHARGE})
    assert after == pytest.approx(
        before | {Fault.UNDERCHARGE: 0.5, AIRFLOW: 0.3, CONDENSER: 0.15, Fault.RESTRICTION: 0.05}
    )


def test_a_waiting_charge_that_is_unlikely_keeps_its_share() -> None:
    before = probable(undercharge=0.4, low_evaporator_airflow=0.3)
    assert _capped(before, {Fault.UNDERCHARGE}) == before
    sure = probable(undercharge=0.8)
    assert _capped(sure, ()) == sure


@pytest.mark.parametrize(
    ("rests_on", "share", "first"),
    [
        ("liquid_line_temperature", 0.3, Fault.INSTRUMENT_OFF),
        ("liquid_line_temperature", 0.01, Fault.INSTRUMENT_OFF),
        ("liquid_pressure", 0.3, Fault.NON_CONDENSABLES),  # a hose comes off for that
        ("liquid_pressure", 0.01, Fault.INSTRUMENT_OFF),
        ("", 0.3, Fault.NON_CONDENSABLES),
    ],
)
def test_a_second_clamp_comes_before_a_long_rest(rests_on: str, share: float, first: Fault) -> None:
    """A minute against half an hour, with the unit off; nothing is moved before either: common practice, no source."""
    held = _held_back(Fault.OVERCHARGE, probable(non_condensables=share), (), rests_on)
    assert held is not None
    assert held.by is first


@pytest.mark.parametrize("fault", [AIRFLOW, CONDENSER])
def test_air_and_heat_rejection_are_looked_at_before_a_clamp(fault: Fault) -> None:
    held = _held_back(Fault.OVERCHARGE, probable(**{fault.name.lower(): 0.3}), (), "liquid_line_temperature")
    assert held is not None
    assert held.by is fault


def test_a_look_that_saw_nothing_stands_in_for_a_figure_and_lifts_no_hold_of_the_others() -> None:
    """One careless touch must not let refrigerant into a full unit."""
    open_ = probable(undercharge=0.6, low_evaporator_airflow=0.2)
    held = _held_back(Fault.UNDERCHARGE, open_, (), clear={AIRFLOW})
    assert held is not None
    assert (held.by, held.reason.kind) == (AIRFLOW, "held_back.low_evaporator_airflow")
    ruled_out = probable(undercharge=0.6, low_evaporator_airflow=0.05)
    unseen = _held_back(Fault.UNDERCHARGE, ruled_out, ("air_split",))
    assert unseen is not None
    assert unseen.reason.kind == "held_back.unseen"
    assert _held_back(Fault.UNDERCHARGE, ruled_out, ("air_split",), clear={AIRFLOW}) is None
