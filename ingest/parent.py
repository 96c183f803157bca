"""Ending with the process that started us, however that one ends.

The parent holds the writing end of a pipe that is our standard input. When the parent ends, killed or not, the kernel
closes it, and we stop as if we had been asked to.
"""

import os
import signal
import sys
import threading
import time

PATIENCE_S = 5.0
"""How long stopping in order may take before we end all the same."""


def end_with_parent() -> None:
    """Watch standard input from a thread of its own; its end is a SIGTERM to ourselves."""
    threading.Thread(target=_watch, name="parent", daemon=True).start()


def _watch() -> None:
    while sys.stdin.buffer.read(4096):
        pass
    os.kill(os.getpid(), signal.SIGTERM)
    time.sleep(PATIENCE_S)
    os._exit(128 + signal.SIGTERM)
