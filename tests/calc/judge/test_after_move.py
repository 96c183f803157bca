"""How long to wait after a move: 5, 10 and 15 min are in print by makers, 15 min in California Title 24, RA3.2.2.5."""

import pytest

from calc.errors import UnknownNameError
from calc.judge.after_move import least_wait_s


@pytest.mark.parametrize(
    ("maker_s", "protocol", "wait_s"),
    [
        (None, "", 0.0),  # settled is enough
        (300.0, "", 300.0),
        (600.0, "", 600.0),
        (None, "title_24_installer", 900.0),
        (None, "title_24_verifier", 900.0),
        (600.0, "title_24_installer", 900.0),
        (1200.0, "title_24_installer", 1200.0),
        (600.0, "acca_5", 600.0),  # which asks for no time
        (None, "acca_5", 0.0),
    ],
)
def test_the_longest_that_is_asked_for_is_waited(maker_s: float | None, protocol: str, wait_s: float) -> None:
    assert least_wait_s(maker_s=maker_s, protocol=protocol) == wait_s


def test_a_protocol_that_nobody_knows_is_an_error() -> None:
    with pytest.raises(UnknownNameError):
        least_wait_s(protocol="title_42")
