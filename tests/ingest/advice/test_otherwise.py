"""What today's judge would say otherwise is said in words, visit by visit, alike ones together."""

from collections.abc import Iterator
from pathlib import Path
from shutil import copyfile

import pytest
from msgspec.structs import replace

from dewline import main
from ingest.advice import rerun as judged
from ingest.advice.otherwise import as_lines, by_visit, differences
from ingest.advice.rerun import Rerun, rerun
from ingest.advice.sentence import Told, tell
from ingest.record.store import Record
from ingest.rig import Rig
from ingest.wire.messages import Wording
from tests.ingest.advice.visits import T0_S, Visit
from tests.rigs import make_rig


@pytest.fixture(scope="module")
def written_once(tmp_path_factory: pytest.TempPathFactory) -> Path:
    rig = make_rig(tmp_path_factory.mktemp("written"))
    for number in (1, 2):
        record = Record(rig.record)
        record.begin_session(rig, boot=f"boot-{number}", new_visit=f"visit-{number}", time_s=T0_S)
        Visit(rig, record, every_s=10, keeps_all=True).watch(range(100), lambda second: 4.0 + second / 100)
        record._database.execute("UPDATE visits SET ended_s = ?", (T0_S + 100,))
        record.close()
    return rig.record


@pytest.fixture
def written(written_once: Path, rig: Rig) -> Path:
    """That record as one of the test's own."""
    return Path(copyfile(written_once, rig.record))


def other_sentences(monkeypatch: pytest.MonkeyPatch, *, until_s: float) -> None:
    """Have a judge that words the first advices of each visit otherwise."""

    def otherwise(*arguments: object) -> Told:
        told = tell(*arguments)  # type: ignore[arg-type]
        if told.advice.time_s > until_s:
            return told
        return told._replace(advice=replace(told.advice, sentence=Wording("Look at the fan.", "Look at the fan.")))

    monkeypatch.setattr(judged, "tell", otherwise)


def test_each_visit_is_told_by_itself(written: Path) -> None:
    found = by_visit(rerun(written))
    assert {visit: (it.same, it.others) for visit, it in found.items()} == {"visit-1": (10, 0), "visit-2": (10, 0)}
    assert list(as_lines(None, "visit-1", found["visit-1"])) == ["visit visit-1: 10 advices, all as they were given"]


def test_advices_that_differ_alike_are_told_together(
    written: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    other_sentences(monkeypatch, until_s=T0_S + 45)
    assert main(["rerun", str(written)]) == 1
    said = capsys.readouterr().out.splitlines()
    assert said[0].startswith("visit visit-1 at RTU-K7Q-4, 2023-11-1")
    assert said[0].endswith(": 10 advices, of which today's judge would give 5 otherwise")
    assert said[1].endswith(", 5 advices")
    assert said[2].startswith("    sentence: said ")
    assert said[2].endswith("; today would say Look at the fan.")
    assert said[3].startswith("visit visit-2 at RTU-K7Q-4")
    assert said[-1] == "10 advices come out as they were given, 10 do not."


def test_one_that_comes_out_between_parts_two_spells(written: Path) -> None:
    good, *_ = rerun(written)
    bad = Rerun(good.given, replace(good.given, state="done"), "v")
    same = Rerun(good.given, good.given, "v")
    assert [spell.count for spell in by_visit([bad, bad, same, bad])["v"].spells] == [2, 1]


def test_what_is_not_in_the_record_is_said(written: Path) -> None:
    good, *_ = rerun(written)
    assert by_visit([Rerun(good.given, None, "v")])["v"].spells[0].differences == (
        "its readings are not in the record",
    )


def parts(written: Path) -> Iterator[tuple[str, str]]:
    given = next(iter(rerun(written))).given
    for part, change in {
        "settling": {"steadiness": {}},
        "details": {"details": [Wording("More.", "More.")]},
        "cautions": {"cautions": ["gloves"], "cautions_once": []},
        "not judged": {"not_judged": ["fan"]},
    }.items():
        yield part, differences(given, replace(given, **change))[0]


def test_each_part_is_named(written: Path) -> None:
    for part, said in parts(written):
        assert said.startswith(f"{part}: said ")
    given = next(iter(rerun(written))).given
    only_figures = replace(given, sentence=replace(given.sentence, kind="another"))
    assert differences(given, only_figures) == ("the words are the same; figures beside them differ",)
