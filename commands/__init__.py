"""The command line, one file a command or a family of them: its options, and what it does with the rooms below.

Invariant: a command's file imports only what every command may wait for; a room that it alone needs is imported as it
runs (tests/commands/test_room.py). No command knows another; beside them stands what several share.
"""
