"""The record: one SQLite file, written by one process.

Invariant: what was confirmed is on the disk, under a number that nothing else has, and is published before any cursor
passes it. tests/ingest/record/test_outbox_machine.py and tests/fault/test_power_cut.py hold it.
"""
