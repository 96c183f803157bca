"""From calc's judgement to words and messages.

Invariant: nothing is worked out here. Every figure, verdict and choice comes from calc; this room remembers what was
read, asks, and words the answer. Only `history.py` counts, and only seconds.
"""
