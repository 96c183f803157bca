"""Links: they move bytes and stamp their arrival, and know no meaning.

Invariant: no answer is delivered under the name of another, however late it comes
(tests/ingest/link/test_late_answers.py).
"""
