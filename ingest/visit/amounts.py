"""What to ask or tell a person, in words, about an amount of refrigerant."""

from calc.amounts import objection
from calc.ledger import Doubtful
from ingest.wire.wording import Wording, worded


def question(
    why: Doubtful, change_kg: float, *, net_kg: float, recovered_kg: float, nameplate_kg: float | None
) -> Wording:
    """Word why an amount is doubtful; arguments as `calc.amounts.objection`."""
    said = objection(why, change_kg, net_kg=net_kg, recovered_kg=recovered_kg, nameplate_kg=nameplate_kg)
    return worded(said)
