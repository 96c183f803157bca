"""What may no longer be asked of a visit that is signed: all that is not appended to it, and is of it."""

from typing import TYPE_CHECKING

from ingest.visit.deciding import RefusedError
from ingest.wire.asks import APPENDED
from ingest.wire.messages import Ask

if TYPE_CHECKING:
    from ingest.visit.standing import Standing


def check_not_sealed(ask: Ask, standing: "Standing") -> None:
    """Refuse what would change a visit that is signed.

    Raises:
        RefusedError: it would.

    """
    if type(ask) not in APPENDED:
        check_goes_on(standing)


def check_goes_on(standing: "Standing") -> None:
    """Refuse what is not appended, where the visit is signed.

    Raises:
        RefusedError: it is.

    """
    if standing.progress.state == "signed":
        raise RefusedError("the visit is signed: open the unit again for another; a note or a correction can be added")
