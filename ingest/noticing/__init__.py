"""What the instruments show by themselves: recognisers over the packs, from whose sights the visit writes itself.

Each is a small pure class, `take(sight)` to what it has just seen, with its line in `table.RECOGNISERS`. It waits for
what is steady, tells one event once, and says within how many seconds of the unit's own time it tells it. What it
proposes is named as the guided checks name it: the check, its figures and its choices.

Invariant: nothing here does I/O or reads a clock, and nothing is seen of a channel that is stale, at fault or in doubt.
"""
