"""What several tests need."""

import socket
from collections.abc import Callable

import pytest


@pytest.fixture
def free_port() -> Callable[[], int]:
    """A function that finds a TCP port of this machine on which nothing listens."""

    def find() -> int:
        with socket.socket() as probe:
            probe.bind(("127.0.0.1", 0))
            port: int = probe.getsockname()[1]
            return port

    return find
