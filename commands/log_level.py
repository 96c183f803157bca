"""What is logged."""

import argparse
import os

LOG_LEVEL = "DEWLINE_LOG_LEVEL"
"""By which a bench tells its children what to log."""


def log_level(options: argparse.Namespace) -> str:
    """Give what is logged: on a bench only what is wrong, since it prints by itself what a technician needs."""
    asked: str = options.log_level or os.environ.get(LOG_LEVEL, "")
    return (asked or options.usual_log_level).upper()
