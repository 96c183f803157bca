"""Decoders: pure functions from bytes to values.

Invariant: no I/O, no clock; whatever the bytes, they raise only FrameError (tests/ingest/decode, `make fuzz`, and the
contract on what they import).
"""
