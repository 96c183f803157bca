"""The contactor's coil: it pulls in, lets go, hangs on, and chatters. Volts from memory: 18 in, 12 out, 24 rated."""

import pytest

from simulators.unit.electric.contactor import TRAVEL_S, Coil, Contactor, ControlTransformer


def feel(contactor: Contactor, coil_v: float, duration_s: float) -> None:
    for _ in range(round(duration_s / 0.005)):
        contactor.feel(coil_v, 0.005)


def test_it_pulls_in_and_lets_go_at_different_voltages_after_its_travel() -> None:
    contactor = Contactor()
    feel(contactor, 17.9, 1.0)
    assert not contactor.is_in
    feel(contactor, 18.1, TRAVEL_S - 0.005)
    assert not contactor.is_in
    feel(contactor, 18.1, 0.005)
    assert contactor.is_in
    feel(contactor, 12.1, 1.0)
    assert contactor.is_in
    feel(contactor, 11.9, TRAVEL_S)
    assert (contactor.is_in, contactor.operations) == (False, 2)


def test_a_short_dip_does_not_open_it() -> None:
    contactor = Contactor(is_in=True, travel=1.0)
    feel(contactor, 5.0, TRAVEL_S - 0.005)
    feel(contactor, 24.0, 0.1)
    assert (contactor.is_in, contactor.travel, contactor.operations) == (True, 1.0, 0)


def test_welded_poles_and_straps_stay_closed() -> None:
    contactor = Contactor(welded={"a"}, straps=frozenset({"b"}))
    assert [contactor.is_closed(leg) for leg in ("a", "b", "c")] == [True, True, False]


def test_the_secondary_follows_the_primary_and_sags_under_its_coil() -> None:
    """An ideal transformer's ratio, with the winding's impedance before the load: a voltage divider."""
    transformer = ControlTransformer(230.0)
    coil = Coil()
    idle = abs(transformer.secondary(230.0 + 0j, complex(1e9)))
    assert idle == pytest.approx(27.0, abs=0.01)
    for ohm in (coil.open_ohm, coil.closed_ohm):
        expected = 27.0 * abs(ohm) / abs(ohm + transformer.impedance_ohm)
        assert abs(transformer.secondary(230.0 + 0j, ohm)) == pytest.approx(expected)
    assert abs(transformer.secondary(115.0 + 0j, coil.closed_ohm)) == pytest.approx(13.2, abs=0.2)
