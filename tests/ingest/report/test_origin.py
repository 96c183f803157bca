"""A report says on every page that its readings are not of a unit that somebody worked at."""

import io
from pathlib import Path

import pypdf
import pytest

from ingest.record.reading import RecordFile
from ingest.report.making import Asked, make
from tests.ingest.report.kept import VISIT, kept

WARNINGS = {"SIMULATED UNIT", "PLAYED AGAIN"}


@pytest.mark.parametrize(
    ("simulated", "boot", "says"),
    [
        (False, "b", set()),
        (True, "b", {"SIMULATED UNIT"}),
        (False, "replay", {"PLAYED AGAIN"}),
        (True, "replay", WARNINGS),
    ],
)
def test_every_page_says_so(tmp_path: Path, simulated: bool, boot: str, says: set[str]) -> None:
    record = RecordFile(kept(tmp_path, simulated=simulated, boot=boot))
    pdf = make(record, Asked(visit=VISIT), charts="")
    for page in pypdf.PdfReader(io.BytesIO(pdf)).pages:
        text = page.extract_text().replace("\n", " ")
        assert {each for each in WARNINGS if each in text} == says
    html = make(record, Asked(visit=VISIT, form="html"), charts="").decode()
    head = html.partition("<header>")[2].partition("</header>")[0]
    assert {each for each in WARNINGS if each in head} == says
