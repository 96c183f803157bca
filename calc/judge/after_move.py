"""How long to wait after refrigerant was moved before readings count: one rule, wherever that is asked.

They count once the figure that shows the charge has settled, and never before, however long it was. Where the maker
asks for a time, or a protocol is claimed, that much is waited as well.
"""

from calc.protocols import tolerances


def least_wait_s(*, maker_s: float | None = None, protocol: str = "") -> float:
    """Give how long to wait at least, beside settling [s]; 0 where nobody asks for a time.

    Args:
        maker_s: as the maker asks; 5, 10 and 15 min are all in print [s].
        protocol: the one that is claimed, as `protocols.protocols()` names it; empty where none is.

    Raises:
        UnknownNameError: no such protocol.

    >>> least_wait_s(), least_wait_s(maker_s=600.0), least_wait_s(maker_s=600.0, protocol="title_24_installer")
    (0.0, 600.0, 900.0)

    """
    limits = tolerances(protocol).limits.get("undisturbed_time") if protocol else None
    asked = (maker_s, limits.low if limits else None)
    return max((each for each in asked if each is not None), default=0.0)
