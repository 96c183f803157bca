"""Cylinders of refrigerant at a visit: asked, recorded, and how each stands.

A cylinder is known by what is written on it. What it holds follows from the scale and from what was moved since.
"""

from collections.abc import Sequence
from typing import Literal

import msgspec

from ingest.wire.events import Confirmable, MarkBase

CylinderUse = Literal["virgin", "recovery"]
"""What it is for: new or reclaimed refrigerant to charge with, or what was recovered."""


class CylinderAsk(Confirmable, frozen=True, omit_defaults=True, tag="cylinder", kw_only=True):
    """Keep what is written on a cylinder; once more under the same name, where it is weighed again.

    name: by which it is told from the others, such as its number. refrigerant: what is in it; empty only of a recovery
    cylinder that is empty. tare_kg, water_capacity_kg: stamped on it, "TW" and "WC". gross_kg: on the scale now.
    hose_m, hose_bore_m: of the hose that it is used with. confirmed: the person was asked, and it is so.
    """

    name: str
    use: CylinderUse
    refrigerant: str = ""
    tare_kg: float | None = None
    water_capacity_kg: float | None = None
    gross_kg: float | None = None
    hose_m: float | None = None
    hose_bore_m: float | None = None
    photographs: Sequence[str] = ()


class CylinderDescribed(MarkBase, frozen=True, omit_defaults=True, tag="cylinder", kw_only=True):
    """What is written on a cylinder. refrigerant: as ASHRAE 34 writes it; the rest as in the ask."""

    name: str
    use: CylinderUse
    refrigerant: str = ""
    tare_kg: float | None = None
    water_capacity_kg: float | None = None
    gross_kg: float | None = None
    hose_m: float | None = None
    hose_bore_m: float | None = None
    photographs: Sequence[str] = ()


class CylinderStands(msgspec.Struct, frozen=True, omit_defaults=True):
    """A cylinder now. holds_kg: of refrigerant, by its last weighing and what was moved since; most_kg: what is safe.

    Both are None where tare, gross weight or water capacity are not known. taken_kg, given_kg: what went into circuits
    from it, and into it from them, at this visit.
    """

    name: str
    use: CylinderUse
    refrigerant: str = ""
    holds_kg: float | None = None
    most_kg: float | None = None
    taken_kg: float = 0.0
    given_kg: float = 0.0
    hose_m: float | None = None
    hose_bore_m: float | None = None
