"""The Watch page: every rig that a lead may see, and who of them needs a lead first.

Invariant: the order comes of one pure function of what was heard of a rig (test_situation.py), and nobody but a lead is
shown it: by route, callback and stream (test_watch.py).
"""
