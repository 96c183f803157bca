"""A recorded visit again, in its own time or faster: from its packs and marks through record, judge and broker.

Invariant: what is recorded and published anew is to the last digit what was, at the same packs, unless today's judge
says otherwise, and then that is told (tests/ingest/replay/test_play.py).
"""
