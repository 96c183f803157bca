"""The page that is handed over: what a visit was, for the owner and for the next technician.

Invariant: every statement names what it rests on in the record, and is gone where that is gone.
"""
