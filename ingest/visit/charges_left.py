"""Which circuits' charge is left as it is: until refrigerant of it is moved again, as corrections leave the moves."""

from ingest.visit.ledgers import Ledgers
from ingest.wire.messages import ChargeLeft, ChargeLeftStands, Mark


class ChargesLeft:
    """Those of a visit. ledgers: of the same visit, which have taken each mark before this does."""

    def __init__(self, ledgers: Ledgers) -> None:
        self._ledgers = ledgers
        self._left: dict[str, tuple[ChargeLeft, frozenset[str]]] = {}  # with the moves that were noted before

    def take(self, mark: Mark) -> None:
        """Take the next mark."""
        if isinstance(mark, ChargeLeft):
            self._left[mark.circuit] = mark, frozenset(self._ledgers.entries)

    def of(self, circuit: str) -> ChargeLeft | None:
        """Give the decision that stands of a circuit; None where there is none, or something was moved since."""
        unnamed = self._ledgers.unnamed
        found = self._left.get(circuit) or (self._left.get("") if circuit == unnamed else None)
        if found is None:
            return None
        mark, before = found
        since = [it.id for it in self._ledgers.of(circuit or unnamed) if it.id not in before]
        return None if since else mark

    def all(self) -> list[ChargeLeft]:
        """Give those that stand, of every circuit, in the order in which they were left first."""
        return [mark for circuit in self._left if (mark := self.of(circuit)) is not None]


def stands(mark: ChargeLeft) -> ChargeLeftStands:
    """Tell of one for the wire."""
    return ChargeLeftStands(mark.id, mark.by, mark.time_s, mark.reason, mark.advised, mark.text, mark.advised_kg)
