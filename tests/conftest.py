"""What several tests need."""

from collections.abc import Callable

import hypothesis
import pytest

from tests.processes import unused_port

# An example's time says more about the machine than about the code; speed is measured in tests/figures.
hypothesis.settings.register_profile("dewline", deadline=None)
hypothesis.settings.load_profile("dewline")


@pytest.fixture
def free_port() -> Callable[[], int]:
    """A function that finds a TCP port of this machine on which nothing listens."""
    return unused_port
