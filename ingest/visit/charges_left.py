"""Which circuits' charge is left as it is: until it is opened, or refrigerant of it moved, as corrections leave it."""

from ingest.visit.ledgers import Ledgers
from ingest.wire.messages import ChargeLeft, ChargeLeftStands, Finding, Mark


class ChargesLeft:
    """Those of a visit. ledgers: of the same visit, which have taken each mark before this does."""

    def __init__(self, ledgers: Ledgers) -> None:
        self._ledgers = ledgers
        self._left: dict[str, tuple[ChargeLeft, frozenset[str]]] = {}  # with the marks that had moved it before
        self._opened: dict[str, list[str]] = {}  # by circuit, the findings by which it was opened

    def take(self, mark: Mark) -> None:
        """Take the next mark."""
        match mark:
            case ChargeLeft():
                opened = [it for found in self._opened.values() for it in found]
                self._left[mark.circuit] = mark, frozenset([*self._ledgers.entries, *opened])
            case Finding(check="opened") if mark.outcome != "skipped":
                self._opened.setdefault(mark.circuit, []).append(mark.id)

    def of(self, circuit: str) -> ChargeLeft | None:
        """Give the decision that stands of a circuit; None where there is none, or it was moved or opened since."""
        unnamed = self._ledgers.unnamed
        found = self._left.get(circuit) or (self._left.get("") if circuit == unnamed else None)
        if found is None:
            return None
        mark, before = found
        named = circuit or unnamed
        opened = [*self._opened.get(named, []), *(self._opened.get("", []) if named == unnamed else [])]
        since = {*opened, *(it.id for it in self._ledgers.of(named))} - before
        return None if since else mark

    def all(self) -> list[ChargeLeft]:
        """Give those that stand, of every circuit, in the order in which they were left first."""
        return [mark for circuit in self._left if (mark := self.of(circuit)) is not None]


def stands(mark: ChargeLeft) -> ChargeLeftStands:
    """Tell of one for the wire."""
    return ChargeLeftStands(mark.id, mark.by, mark.time_s, mark.reason, mark.advised, mark.text, mark.advised_kg)
