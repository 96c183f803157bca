"""What readings cannot all be true at once.

Invariant: a doubt changes no reading. It names channels, reason and fix, and no channel is in two doubts at once.
"""
