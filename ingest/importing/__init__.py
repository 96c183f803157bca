"""A log of any logger into a record: what its columns are says a map, and what nobody can know is asked for.

Invariant: a log comes in whole, every reading with its stamp, unit and reference as the map says, or not at all
(tests/ingest/importing/test_bring_in.py and test_faults.py).
"""
