"""Ending with the process that started us, however that one ends.

The parent holds the writing end of a pipe that is our standard input. When the parent ends, killed or not, the kernel
closes it, and we stop as if we had been asked to.
"""

import os
import signal
import threading
import time

PATIENCE_S = 5.0
"""How long stopping in order may take before we end all the same."""

_STANDARD_INPUT = 0


def end_with_parent() -> None:
    """Watch standard input from a thread of its own; its end is a SIGTERM to ourselves."""
    threading.Thread(target=_watch, name="parent", daemon=True).start()


def _watch() -> None:
    # Past Python's own buffer: whoever reads holds its lock, and an interpreter that ends meanwhile cannot take it.
    while os.read(_STANDARD_INPUT, 4096):
        pass
    os.kill(os.getpid(), signal.SIGTERM)
    time.sleep(PATIENCE_S)
    os._exit(128 + signal.SIGTERM)
