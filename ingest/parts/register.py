"""The register of units as it is told: in brief, and the sheet of each unit that the brief names."""

from collections.abc import Callable, Iterable, Mapping

from ingest.record.sheets import RegisteredSheet
from ingest.wire.messages import Described, Mark, Sheet, UnitBrief, Units, encode, kind_of_sheet

UNITS_TOLD = 300
SHEETS_BYTES = 2 * 1024 * 1024
"""Of those that are told. The embedded broker retains 500 topics and 4 MiB; the record has every unit."""
BRIEF_BYTES = 40 * 1024
"""How much of the brief may be units: a message of more than 64 KiB is refused."""


class Register:
    """What is known of the units. show: publishes a kind of message as retained, where it is not as before."""

    def __init__(self, show: Callable[[str, bytes], None]) -> None:
        self._show = show
        self._kept: dict[str, RegisteredSheet] = {}
        self._visited: dict[str, float] = {}
        self._here = ""
        self._told: set[str] = set()

    @property
    def sheets(self) -> Mapping[str, Sheet]:
        """The sheets there are, by tag."""
        return {tag: kept.sheet for tag, kept in self._kept.items()}

    def begin(self, sheets: Iterable[RegisteredSheet], visited: Mapping[str, float], here: str) -> None:
        """Take what the record has. visited: when the last visit at each unit began [s since 1970], by tag.

        here: the tag of the unit at work, which is told before all others, however long ago its visit began.
        """
        self._here = here
        self._kept = {kept.sheet.tag: kept for kept in sheets}
        self._visited = dict(visited)
        self._tell()

    def take(self, mark: Mark) -> None:
        """Take what a mark changes."""
        if isinstance(mark, Described):
            self._kept[mark.sheet.tag] = RegisteredSheet(mark.sheet, mark.time_s, mark.id)
            self._tell()

    def _tell(self) -> None:
        told, size, of_sheets = [], 0, 0
        newest_first = sorted(
            self._kept.values(), key=lambda kept: (kept.sheet.tag == self._here, self._newest_s(kept)), reverse=True
        )
        for kept in newest_first[:UNITS_TOLD]:
            brief = self._brief(kept.sheet)
            sheet = encode(kept.sheet)
            size += len(encode(brief)) + 1
            of_sheets += len(sheet)
            if size > BRIEF_BYTES or of_sheets > SHEETS_BYTES:
                break
            told.append(brief)
            self._show(kind_of_sheet(brief.tag), sheet)
        tags = {brief.tag for brief in told}
        for tag in self._told - tags:
            self._show(kind_of_sheet(tag), b"")  # retained no more: a broker has room for so many
        self._told = tags
        self._show("units", encode(Units(told, more=len(self._kept) - len(told))))

    def _newest_s(self, kept: RegisteredSheet) -> float:
        return max(kept.since_s, self._visited.get(kept.sheet.tag, 0.0))

    def _brief(self, sheet: Sheet) -> UnitBrief:
        refrigerants = list(dict.fromkeys(circuit.refrigerant for circuit in sheet.circuits))
        return UnitBrief(sheet.tag, sheet.place, refrigerants, self._visited.get(sheet.tag))
