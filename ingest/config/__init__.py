"""The configuration of a rig: what it may say, and what it must fulfil."""
