"""How a command ends."""

import os
import sys

STOPPED = 130
"""The exit code of a command that Ctrl-C stopped: 128 and the number of the signal, as shells have it."""
SETUP_IS_WRONG = 2
"""The exit code of a command whose options or configuration cannot work: starting it again would not help."""


def drop_output() -> None:
    """Let the interpreter flush to nowhere as it ends: what takes the output refused it."""
    os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
