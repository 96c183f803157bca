"""A charge that is left as it is, though the judge asks for more: whose decision that was, and why."""

from typing import Literal

import msgspec

from ingest.wire.events import Ask, MarkBase
from ingest.wire.wording import Wording

WhyLeft = Literal["near_enough", "none_today", "leak_first", "owner", "other"]
"""Near enough by the plate, no more refrigerant today, the leak comes first, the owner decides, or as the text says."""


class LeaveChargeAsk(Ask, frozen=True, omit_defaults=True, tag="leave_charge", kw_only=True):
    """Leave the charge as it is, against what the judge asks for. circuit: empty for the one in view.

    text: what more there is to say; of another reason, that.
    """

    reason: WhyLeft
    circuit: str = ""
    text: str = ""


class ChargeLeft(MarkBase, frozen=True, omit_defaults=True, tag="charge_left", kw_only=True):
    """The charge of a circuit is left as it is, until refrigerant of it is moved again. It says nothing of being right.

    advised: the sentence of the judge against which it was. advised_kg: what that asked to add, or below 0 to recover
    [kg]; None where it asked for a look before.
    """

    reason: WhyLeft
    advised: Wording
    circuit: str = ""
    advised_kg: float | None = None


class ChargeLeftStands(msgspec.Struct, frozen=True, omit_defaults=True):
    """That the charge of the circuit in view is left as it is. id: of its mark; the rest as there."""

    id: str
    by: str
    time_s: float
    reason: WhyLeft
    advised: Wording
    text: str = ""
    advised_kg: float | None = None
