"""A simulated unit in real time, with simulated instruments around it.

Invariant: what a person records as moved is what moves in the unit, once, and as it was corrected
(tests/simulators/bench/test_bench.py).
"""
