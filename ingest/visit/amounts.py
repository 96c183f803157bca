"""What to ask a person, in words, about an amount of refrigerant that is unlikely for this unit."""

from calc import wording
from calc.ledger import Doubtful
from calc.units import System
from ingest.wire.messages import Wording


def question(
    why: Doubtful, change_kg: float, *, net_kg: float, recovered_kg: float, nameplate_kg: float | None
) -> Wording:
    """Word why an amount is doubtful. change_kg: below 0 for recovered; else as `calc.ledger.doubtful_amount`."""

    def say(system: System) -> str:
        amount = f"{wording.mass(change_kg, system)} {'recovered' if change_kg < 0 else 'added'}"
        plate = "no nameplate charge is known"
        if nameplate_kg is not None:
            plate = f"the nameplate's charge is {wording.mass(nameplate_kg, system)}"
        if why is Doubtful.IMPOSSIBLE:
            return f"{amount}: {plate}, and no unit of this size takes that. Look at the scale"
        if why in (Doubtful.LARGE_STEP, Doubtful.LARGE_WITHOUT_NAMEPLATE):
            return f"{amount} in one go, and {plate}. Is that what the scale says?"
        sum_kg = net_kg + change_kg if change_kg > 0 else recovered_kg - change_kg
        way = "" if change_kg > 0 else " out"
        return f"With {amount} this visit comes to {wording.mass(sum_kg, system)}{way}, and {plate}. Is that so?"

    return Wording(us=say("us"), si=say("si"))
