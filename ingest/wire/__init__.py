"""What travels: the messages, their topics and their encoding. The only door for the page.

Invariant: nothing here does I/O, reads a clock or knows another room of ingest, so that a page, a bench or a script of
somebody else's can read the wire with this room alone.
"""
