"""How often somebody may try a password: some tries a name, and some an address, within a time."""

from collections import OrderedDict, deque

MOST_TRIES = 10
"""Of one name, and of one address, within `WITHIN_S` (common practice, no source; NIST SP 800-63B-4 has 100 in a row at
most, from memory, which takes 150 minutes so)."""
WITHIN_S = 15 * 60.0
_MOST_KEPT = 4096
"""Of names and addresses: strangers can make up any number of them."""


class Attempts:
    """Tries that failed, by what they were of. now_s: by any clock that never steps back [s]."""

    def __init__(self) -> None:
        self._failed: OrderedDict[str, deque[float]] = OrderedDict()

    def waits_s(self, of: str, now_s: float) -> float:
        """Give how long it is until another may be made [s]; 0 where one may now."""
        failed = self._failed.get(of, deque())
        while failed and failed[0] <= now_s - WITHIN_S:
            failed.popleft()
        return failed[0] + WITHIN_S - now_s if len(failed) >= MOST_TRIES else 0.0

    def failed(self, of: str, now_s: float) -> None:
        """Note one that failed."""
        self._failed.setdefault(of, deque(maxlen=MOST_TRIES)).append(now_s)
        self._failed.move_to_end(of)
        while len(self._failed) > _MOST_KEPT:
            self._failed.popitem(last=False)

    def succeeded(self, of: str) -> None:
        """Forget what failed before one that did not."""
        self._failed.pop(of, None)
