"""Finding everything that is wrong with a file at once, each with its key, its value, and what would do.

Invariant: nothing here knows what a configuration holds; that is the business of `ingest.config` and `ingest.kinds`.
"""
