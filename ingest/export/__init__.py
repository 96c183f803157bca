"""A visit out of the record, for other programs: CSV, Parquet, SenML, JSON.

Invariant: what goes out is what is in the record, to the last digit, and a file is there whole or not at all
(tests/ingest/export/test_export.py).
"""
