"""Judging a unit that runs: has it settled, may its charge be judged, what departs, how much to move.

Invariant: whatever is told of a unit at one moment is a view of one `state.Decision`, made of one `Situation`; no part
of it can say what another forbids.
"""
