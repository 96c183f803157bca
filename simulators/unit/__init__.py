"""A physical model of a unit. Shares no constant with the judge.

Invariant: mass and energy are conserved, whatever is wrong with the unit (tests/simulators/unit/test_model.py).
"""
