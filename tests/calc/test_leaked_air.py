"""Lower flammable limits as shares of the air, and from where on refrigerant in the air is told."""

import pytest

from calc.estimate import Estimate
from calc.leaked_air import flammable_share, is_told


@pytest.mark.parametrize(("refrigerant", "percent"), [("R-32", 14.4), ("R-290", 2.1), ("R-1234yf", 6.2)])
def test_the_share_is_the_one_that_the_standard_prints(refrigerant: str, percent: float) -> None:
    """ASHRAE 34 prints them by volume, and as rounded masses: within 2 %. From memory."""
    share = flammable_share(refrigerant)
    assert share is not None
    assert 100 * share == pytest.approx(percent, rel=0.02)


def test_of_several_limits_the_lowest_counts() -> None:
    """R-454B: 0.296 kg/m³ (product standard) and not 0.3526 (ASHRAE 34); 62.6 g/mol."""
    assert flammable_share("R-454B") == pytest.approx(0.296 * 8.314 * 296.15 / (0.0626 * 101_325.0), rel=1e-3)


@pytest.mark.parametrize("refrigerant", ["R-410A", "R-22", "R-134a"])
def test_what_does_not_burn_has_none(refrigerant: str) -> None:
    assert flammable_share(refrigerant) is None


@pytest.mark.parametrize(
    ("ppm", "standard_ppm", "told"),
    [(500.0, 1.0, False), (501.0, 1.0, True), (501.0, 250.0, True), (501.0, 251.0, False), (0.0, 400.0, False)],
)
def test_it_is_told_above_500_ppm_and_above_its_uncertainty(ppm: float, standard_ppm: float, told: bool) -> None:
    """Common practice, no source."""
    assert is_told(Estimate(ppm * 1e-6, standard_ppm * 1e-6)) is told
