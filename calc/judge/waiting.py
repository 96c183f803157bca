"""How long a wait is told to be: a forecast flickers, and a wait that grows while somebody waits is not believed.

A told wait runs down by the clock, and is shortened at once. It is lengthened only once the forecast has said so for a
while: common practice, no source.
"""

from dataclasses import dataclass, replace

CLEARLY_LONGER_S = 60.0
LENGTHENED_AFTER_S = 30.0


@dataclass(frozen=True, slots=True)
class ToldWait:
    """A wait as it is told [s, by one clock].

    Attributes:
        until_s: when it ends.
        longer_since_s: since when the forecast has been ending clearly later; None while it does not.
        told_s: when it was told last.

    """

    until_s: float
    longer_since_s: float | None
    told_s: float


def tell_wait(left_s: float, said: ToldWait | None, now_s: float) -> ToldWait:
    """Tell a wait that is forecast to last for `left_s` from now, held to what was said of it before.

    Where little is left of what was said, less is clearly longer: at its end every wait that is still left is.

    >>> said = tell_wait(480.0, None, 0.0)
    >>> tell_wait(530.0, said, 2.0).until_s, tell_wait(300.0, said, 2.0).until_s
    (480.0, 302.0)
    """
    until_s = now_s + left_s
    if said is None or now_s - said.told_s > LENGTHENED_AFTER_S or until_s <= said.until_s:
        return ToldWait(until_s, None, now_s)
    if until_s - said.until_s <= min(CLEARLY_LONGER_S, max(0.0, said.until_s - now_s)):
        return replace(said, longer_since_s=None, told_s=now_s)
    since_s = now_s if said.longer_since_s is None else said.longer_since_s
    if now_s - since_s >= LENGTHENED_AFTER_S:
        return ToldWait(until_s, None, now_s)
    return replace(said, longer_since_s=since_s, told_s=now_s)
