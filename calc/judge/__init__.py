"""Judging a unit that runs: has it settled, may its charge be judged, what departs, how much to move."""
