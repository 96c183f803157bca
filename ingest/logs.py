"""Logging for people and machines: one event, one line."""

import logging


class OneLine(logging.Formatter):
    """Keeps every event on one line, a traceback too, so that no part is mistaken for another event."""

    def __init__(self) -> None:
        super().__init__("%(asctime)s %(levelname)s %(name)s: %(message)s")

    def format(self, record: logging.LogRecord) -> str:
        """Format an event; line breaks within it become ` | `."""
        return " | ".join(line.strip() for line in super().format(record).splitlines() if line.strip())
