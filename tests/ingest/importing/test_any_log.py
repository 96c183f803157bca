"""Whatever a file holds: it comes in, or is refused in words, and a refusal leaves nothing behind."""

import tempfile
from contextlib import suppress
from pathlib import Path

from hypothesis import given
from hypothesis import strategies as st

from ingest.config.load import ConfigError
from ingest.importing.errors import LogError
from ingest.importing.guess import guess
from ingest.importing.log_map import read_map
from ingest.record.reading import RecordFile
from tests.ingest.importing.logs import Folder

CELLS = st.sampled_from(
    ["2026-06-01T14:00:00", "2026-06-01 14:00:01", "01/02/26 10:00", "35.1", "35,1", "-", "OL", "1e999", "nan", "", '"',
     "1780322400", "Time", "Suction (psig)", "Line [°F]", "psi", "\x00", "９", "1_0", "T" * 200]
)  # fmt: skip
LINES = st.lists(st.lists(CELLS, max_size=4).map(",".join), max_size=8).map("\n".join)
TEXTS = LINES | LINES.map(lambda text: "Time,Suction,Line\n" + text) | st.text(max_size=200)


@given(TEXTS.map(lambda text: text.encode("utf-8", "surrogatepass")) | st.binary(max_size=200))
def test_any_file_is_looked_at_and_brought_in_or_refused(content: bytes) -> None:
    with tempfile.TemporaryDirectory() as directory:
        folder = Folder(Path(directory))
        folder.log.write_bytes(content)
        with suppress(LogError):
            folder.map.with_name("proposed.toml").write_text(guess(folder.log).text, encoding="utf-8")
            with suppress(ConfigError):
                read_map(folder.map.with_name("proposed.toml"), folder.record)
        try:
            taken = folder.bring_in()
        except LogError:
            assert not folder.record.exists()
            return
        assert len(folder.packs()) == taken.packs > 0
        assert [visit.id for visit in RecordFile(folder.record).visits()] == [taken.visit]
