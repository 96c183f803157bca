"""What several tests need."""

import gc
import os
from collections.abc import AsyncIterator, Callable
from pathlib import Path

import hypothesis
import pytest
import pytest_asyncio

from ingest.rig import Rig
from tests import browser
from tests.processes import unused_port
from tests.rigs import make_rig

# An example's time says more about the machine than about the code; speed is measured in tests/figures. The examples
# are the same at every run, so that a red test is a change's doing: `make fuzz` looks for new ones.
looks_for_new = "DEWLINE_FUZZ_EXAMPLES" in os.environ
hypothesis.settings.register_profile(
    "dewline", deadline=None, derandomize=not looks_for_new, max_examples=100 if looks_for_new else 50
)
hypothesis.settings.load_profile("dewline")


@pytest.fixture
def free_port() -> Callable[[], int]:
    """A function that finds a TCP port of this machine on which nothing listens."""
    return unused_port


@pytest.fixture
def rig(tmp_path: Path) -> Rig:
    """The invented rig, whose record is in the test's own folder."""
    return make_rig(tmp_path)


WAITS = (
    "tests/e2e",
    "tests/fault",
    "tests/install",
    "tests/ingest/test_daemon",
    "tests/ingest/broker",
    "tests/ingest/link",
)
"""What waits for processes, wires and timeouts more than it computes, the longest first."""

COMPUTES = ("tests/simulators", "tests/ingest/advice", "tests/ingest/noticing", "tests/starts")
"""What computes for long: first, so that no worker is left alone with it."""


def _beside_each_other(items: list[pytest.Item]) -> list[pytest.Item]:
    """Order the files so that, to the end, some workers wait while others compute."""
    files: dict[str, list[pytest.Item]] = {}
    for item in items:
        files.setdefault(item.nodeid.split("::")[0], []).append(item)
    waits = [file for room in WAITS for file in files if file.startswith(room)]
    computes = [file for room in COMPUTES for file in files if file.startswith(room)]
    computes += [file for file in files if not file.startswith(WAITS + COMPUTES)]
    between = len(computes) / max(1, len(waits))
    at = {file: between * number for number, file in enumerate(waits)} | {file: n for n, file in enumerate(computes)}
    return [item for file in sorted(at, key=at.__getitem__) for item in files[file]]


def pytest_sessionstart() -> None:
    """Let what the tests are made of be made without looking for garbage in it; none of it ever is."""
    gc.disable()


def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    """Order the files, and run all that drives a browser in one event loop: the one that launched it."""
    gc.freeze()
    gc.enable()
    items[:] = _beside_each_other(items)
    for item in items:
        if pytest_asyncio.is_async_test(item) and item.get_closest_marker("browser"):
            item.add_marker(pytest.mark.asyncio(loop_scope="session"), append=False)


@pytest_asyncio.fixture(scope="session", loop_scope="session")
async def _browser() -> AsyncIterator[None]:
    async with browser.sharing():
        yield


@pytest.fixture(autouse=True)
def _share_one_browser(request: pytest.FixtureRequest) -> None:
    """Launch the browser once, before the first test that drives one."""
    if request.node.get_closest_marker("browser"):
        request.getfixturevalue("_browser")
