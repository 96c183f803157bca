"""The trade's arithmetic: pure functions in SI units, each with its source. No I/O, no clock, no device."""
