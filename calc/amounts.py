"""What to say of an amount of refrigerant that is unlikely for this unit, or cannot be."""

from calc.ledger import Doubtful
from calc.quantities import Quantity
from calc.sentences import Part, Sentence, amount, weighed

_SAID = {
    Doubtful.IMPOSSIBLE: "amount.impossible",
    Doubtful.LARGE_STEP: "amount.in_one_go",
    Doubtful.LARGE_WITHOUT_NAMEPLATE: "amount.in_one_go",
    Doubtful.SUM_PASSES_NAMEPLATE: "amount.sum",
    Doubtful.MORE_THAN_NAMEPLATE_OUT: "amount.sum_out",
}


def objection(
    why: Doubtful, change_kg: float, *, net_kg: float, recovered_kg: float, nameplate_kg: float | None
) -> Sentence:
    """Say why an amount is doubtful. change_kg: below 0 for recovered [kg]; else as `calc.ledger.doubtful_amount`.

    >>> str(objection(Doubtful.IMPOSSIBLE, 14.17476, net_kg=0.0, recovered_kg=0.0, nameplate_kg=3.40194))
    "31 lb 4 oz added: the nameplate's charge is 7 lb 8 oz, and no unit of this size takes that. Look at the scale."

    """
    sum_kg = recovered_kg - change_kg if why is Doubtful.MORE_THAN_NAMEPLATE_OUT else net_kg + change_kg
    way = "amount.recovered" if change_kg < 0 else "amount.added"
    plate = "amount.no_plate" if nameplate_kg is None else "amount.plate"
    is_impossible_out = why is Doubtful.IMPOSSIBLE and change_kg < 0
    is_of_sum = why in (Doubtful.SUM_PASSES_NAMEPLATE, Doubtful.MORE_THAN_NAMEPLATE_OUT)
    return Sentence(
        "amount.impossible_out" if is_impossible_out else _SAID[why],
        (
            Part("move", "sentence", terms=(way,)),
            Part("plate", "sentence", terms=(plate,)),
            weighed("amount", change_kg),
            *([amount("sum", sum_kg, Quantity.MASS)] if is_of_sum else []),
            amount("charge", nameplate_kg or 0.0, Quantity.MASS),
        ),
    )
