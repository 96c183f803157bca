"""What is wrong with a log."""

from pathlib import Path


class LogError(Exception):
    """A log that cannot be brought in: where, what was wrong, and what to do."""

    def __init__(self, path: Path, line: int, wrong: str) -> None:
        where = f"{path}, line {line}" if line else str(path)
        super().__init__(f"{where}: {wrong}")
        self.line = line
        self.wrong = wrong


class CellError(ValueError):
    """One line that cannot be read: says what was expected."""
