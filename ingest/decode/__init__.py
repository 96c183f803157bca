"""Decoders: pure functions from bytes to values. No I/O, no clock; they raise only FrameError."""
