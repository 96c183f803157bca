"""The Visit page: who and where, what the rig proposes, what is next, what is done and open, what people say.

Invariant: a card is laid out from what the rig retains, its asks as data: nothing is summed or judged here, and the
Charge page is sent nothing of it (tests/dashboard/test_visit.py).
"""
