"""Where a program of this machine is."""

import os
import shutil

PLACES = os.pathsep.join([os.environ.get("PATH", os.defpath), "/usr/local/sbin", "/usr/sbin"])
"""PATH, and where Debian installs services, which is not on everyone's PATH."""


def find_program(name: str) -> str | None:
    """Find a program; None where there is none of that name."""
    return shutil.which(name, path=PLACES)
