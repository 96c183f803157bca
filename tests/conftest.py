"""What several tests need."""

from collections.abc import Callable

import pytest

from tests.processes import unused_port


@pytest.fixture
def free_port() -> Callable[[], int]:
    """A function that finds a TCP port of this machine on which nothing listens."""
    return unused_port
