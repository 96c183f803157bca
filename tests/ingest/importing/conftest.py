from pathlib import Path

import pytest

from tests.ingest.importing.logs import Folder


@pytest.fixture
def folder(tmp_path: Path) -> Folder:
    return Folder(tmp_path)
