"""Looking for instruments, and trying out what a configuration says of them.

Invariant: an instrument is never changed by looking: it is listened to, asked who it is, or read
(tests/ingest/discover/test_search.py).
"""
