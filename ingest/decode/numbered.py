"""Names for several of one kind."""

from collections import Counter
from collections.abc import Sequence


def numbered(names: Sequence[str]) -> list[str]:
    """Give names that occur more than once their number.

    >>> numbered(["Temperature", "Humidity", "Temperature"])
    ['Temperature 1', 'Humidity', 'Temperature 2']
    """
    total, seen = Counter(names), Counter[str]()
    result = []
    for name in names:
        seen[name] += 1
        result.append(f"{name} {seen[name]}" if total[name] > 1 else name)
    return result
