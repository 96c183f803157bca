"""Who has access: accounts with a password beside one-time links, who came in, and how each is ended.

Invariant: a login holds no longer than what it came from. One by a password ends with its account, at the next request
and in every stream that is open (test_people.py); and no password, nor what it could be guessed by, is ever in a log.
"""
