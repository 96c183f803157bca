"""What to ask or tell a person, in words, about an amount of refrigerant."""

from calc.amounts import objection
from calc.ledger import Doubtful
from calc.sentences import Sentence, say
from ingest.wire.messages import Wording


def question(
    why: Doubtful, change_kg: float, *, net_kg: float, recovered_kg: float, nameplate_kg: float | None
) -> Wording:
    """Word why an amount is doubtful; arguments as `calc.amounts.objection`."""
    said = objection(why, change_kg, net_kg=net_kg, recovered_kg=recovered_kg, nameplate_kg=nameplate_kg)
    return worded(said)


def worded(said: Sentence) -> Wording:
    """Word a sentence in both systems of units, and keep what it says as kind and figures."""
    return Wording(us=say(said, "us"), si=say(said, "si"), kind=said.kind, parts=said.parts)
