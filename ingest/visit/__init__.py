"""The visit: what its marks come to, and what may be asked next.

Invariant: nothing here does I/O or reads a clock, so that a visit can be worked out again from its marks alone.
"""
