"""The trade's arithmetic: pure functions in SI units, each with its source.

Invariant: no I/O, no clock, no device, no framework (import contract); an answer is finite and possible, or an error
that names the argument (tests/calc/test_limits.py).
"""
