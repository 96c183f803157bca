"""The clock: order kept whatever the wall clock does, every step in the open, no stamp rewritten."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from ingest.clock import Clock
from ingest.frames import Stamp

SLEW_RATE = 0.01
"""A disciplined clock is slewed by at most 500 ppm (RFC 5905; from memory), which is less."""
STEP_S = 0.5
"""A person does not see less."""

NS = 1_000_000_000
TICK_S = 0.25


class Machine:
    """A machine whose clocks a test turns by hand."""

    def __init__(self, time_s: float = 1_700_000_000.0) -> None:
        self.monotonic_ns = 5_000 * NS
        self.time_ns = round(time_s * NS)

    def now(self) -> Stamp:
        return Stamp(self.monotonic_ns, self.time_ns)

    def wait(self, seconds: float, drift: float = 0.0) -> None:
        self.monotonic_ns += round(seconds * NS)
        self.time_ns += round(seconds * (1 + drift) * NS)

    def set_by(self, seconds: float) -> None:
        self.time_ns += round(seconds * NS)


def test_it_tells_the_time_of_the_machine() -> None:
    machine = Machine()
    moment = Clock(machine.now).now()
    assert (moment.monotonic_s, moment.time_s, moment.epoch) == (5_000.0, 1_700_000_000.0, 0)


@pytest.mark.parametrize("by_s", [1.0, -1.0, 3600.0, -3600.0, 7200.0, 1_700_000_000.0], ids=lambda by: f"{by:+.0f} s")
def test_a_step_is_told_once_and_counted(by_s: float) -> None:
    # an hour back and forth is daylight saving on a machine set to local time; the last, a start in 1970
    machine = Machine(time_s=0.0 if by_s > 1e9 else 1_700_000_000.0)
    clock = Clock(machine.now)
    before = clock.now()
    machine.wait(TICK_S)
    machine.set_by(by_s)
    step = clock.follow()
    assert step is not None
    assert step.by_s == pytest.approx(by_s)
    assert step.moment.epoch == before.epoch + 1
    assert clock.now().time_s == pytest.approx(before.time_s + by_s + TICK_S)
    machine.wait(TICK_S)
    assert clock.follow() is None
    assert clock.now().monotonic_s == pytest.approx(before.monotonic_s + 2 * TICK_S)


def test_a_small_difference_is_followed_slowly() -> None:
    machine = Machine()
    clock = Clock(machine.now)
    machine.set_by(0.4)
    last_s = clock.now().time_s
    for _ in range(200):
        machine.wait(TICK_S)
        assert clock.follow() is None
        time_s = clock.now().time_s
        assert time_s - last_s <= TICK_S * (1 + SLEW_RATE) + 1e-6
        last_s = time_s
    assert last_s == pytest.approx(machine.time_ns / NS, abs=1e-6)
    assert clock.now().epoch == 0


@given(st.lists(st.tuples(st.floats(0.0, 2.0), st.floats(-STEP_S, STEP_S) | st.floats(-1e5, 1e5)), max_size=60))
def test_within_an_epoch_stamps_keep_their_order(events: list[tuple[float, float]]) -> None:
    machine = Machine()
    clock = Clock(machine.now)
    last = clock.now()
    for wait_s, set_by_s in events:
        machine.wait(wait_s)
        machine.set_by(set_by_s)
        clock.follow()
        moment = clock.now()
        assert moment.monotonic_s >= last.monotonic_s
        assert moment.epoch >= last.epoch
        if moment.epoch == last.epoch:
            assert moment.time_s >= last.time_s - 1e-6
        last = moment


def test_an_arrival_is_stamped_by_the_monotonic_clock() -> None:
    machine = Machine()
    clock = Clock(machine.now)
    arrival = machine.now()
    machine.set_by(0.3)  # while the frame waits for its turn
    machine.wait(0.1)
    assert clock.time_s(arrival) == pytest.approx(1_700_000_000.0)
