"""The register of units at the shell: brought in from a shop's files, given out again, and labels for new tags.

Invariant: a file that cannot be used whole changes nothing, and what was given out comes back the same
(tests/ingest/register/test_round_trip.py and test_bringing_in.py).
"""
