"""How good is the judge? Measured on simulated units that it knows nothing of, beside what is published."""

from typing import NamedTuple

from tests.judge.diagnosis import Judged
from tests.judge.guidance import Start
from tests.judge.memory import Remembered
from tests.judge.obedient import Visit
from tests.judge.settling import Forecasts, Ramp
from tests.judge.two_faults import TwoJudged


class Results(NamedTuple):
    """Everything that was measured. wide: on units that differ as those of many makers do, as pairs and remembered.

    by_itself: forecasts of the same changes, of one figure without the other. other: of other physics.
    """

    judged: list[Judged]
    wide: list[Judged]
    forecasts: list[Forecasts]
    by_itself: list[Forecasts]
    ramps: list[Ramp]
    starts: list[Start]
    other: list[Judged]
    other_visits: list[Visit]
    pairs: list[TwoJudged]
    remembered: list[Remembered]
