"""The configuration of a rig: what it may say, and what it must fulfil.

Invariant: nothing starts on a configuration with a mistake in it, and every mistake is told at once, by file, key,
value and what would do (tests/ingest/config/test_load.py, over tests/bad_configurations).
"""
