"""Where the refrigerant of a unit at rest goes: to the colder coil (physics); clearly is 2 °F, of no source."""

import pytest

from calc.estimate import Estimate
from calc.resting_air import coldest_air

DDEGF = 5 / 9


@pytest.mark.parametrize(
    ("over_outdoor_f", "beside"),
    [
        (10.0, "outdoor_air"),
        (1.0, "outdoor_air"),
        (-1.9, "outdoor_air"),
        (-2.0, "outdoor_air"),
        (-2.1, "return_air"),
        (-20.0, "return_air"),
    ],
)
def test_it_goes_indoors_where_that_is_clearly_colder(over_outdoor_f: float, beside: str) -> None:
    seen = {
        "outdoor_air_temperature": Estimate(305.0, 0.3),
        "return_air_temperature": Estimate(305.0 + over_outdoor_f * DDEGF, 0.2),
    }
    assert coldest_air(seen) == (beside, seen[f"{beside}_temperature"])


def test_without_the_air_outdoors_nobody_knows() -> None:
    assert coldest_air({"return_air_temperature": Estimate(297.0, 0.2)}) is None
    outdoors = Estimate(305.0, 0.3)
    assert coldest_air({"outdoor_air_temperature": outdoors}) == ("outdoor_air", outdoors)
