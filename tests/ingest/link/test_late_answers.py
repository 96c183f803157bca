"""No answer is ever taken for another, however late; each late one is told of."""

from pathlib import Path

import pytest

from tests.late_answers import LINKS, NAMES, rounds

ROUNDS = 25
"""tests/figures/late_answers.py goes through a thousand."""


@pytest.mark.parametrize("kind", LINKS)
@pytest.mark.parametrize("latest", [(1.125, 1.125), (2.1, 3.5), (0.5, 1.5)], ids=["2.25 s of 2 s", "twice", "mixed"])
async def test_no_value_comes_under_another_name(kind: str, latest: tuple[float, float], tmp_path: Path) -> None:
    came = await rounds(kind, tmp_path, ROUNDS, latest)
    assert came.wrong == []
    assert all(came.frames[name] >= ROUNDS // 2 for name in NAMES if name != "late"), came.frames
    if kind != "modbus_tcp" and latest[0] > 1:
        assert came.frames["late"] == 0
        assert came.told >= ROUNDS // 2
        assert "timeout` must be longer than 0.04 s" in came.last_told
