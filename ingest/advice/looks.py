"""What was looked for at this visit where the readings point, and what was seen of it: evidence beside the figures."""

from collections.abc import Iterable, Mapping
from types import MappingProxyType

from calc.looks import LOOKED_FOR
from calc.situation import Seen
from ingest.visit import looked
from ingest.wire.messages import Finding, Mark

_SEEN: Mapping[str, Seen] = MappingProxyType({"nothing": "clear", "mended": "clear", "found": "found"})


class Looks:
    """Remembers the newest look for each cause, circuit by circuit. marks: those of the visit so far."""

    def __init__(self, marks: Iterable[Mark] = ()) -> None:
        self._seen: dict[tuple[str, str], Seen] = {}
        for mark in marks:
            self.take(mark)

    def take(self, mark: Mark) -> None:
        """Take a mark of the visit; what could not be seen tells nothing, what is skipped by name was taken back."""
        if not isinstance(mark, Finding) or mark.check != looked.LOOKED_FOR:
            return
        if mark.outcome == "skipped":
            self._seen.pop((mark.circuit, LOOKED_FOR.get(mark.choices.get("cause", ""), "")), None)
            return
        fault, seen = LOOKED_FOR.get(mark.choices.get("cause", "")), _SEEN.get(mark.choices.get("seen", ""))
        if fault is not None and seen is not None:
            self._seen[mark.circuit, fault] = seen

    def of(self, circuit: str) -> dict[str, Seen]:
        """Give what was seen of a circuit, for `Situation.looked`; a look that names none is of all.

        circuit: empty of a unit whose only one nobody named: then every look is of it.
        """
        return {fault: seen for (of, fault), seen in self._seen.items() if not circuit or of in ("", circuit)}
