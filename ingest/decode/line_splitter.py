"""Lines out of a stream of bytes, with little memory whatever the stream holds.

Invariants: at most one line and one chunk are kept. Nothing is delivered before the first end of a line, because
the line under way when we started listening has lost its beginning. A line that is too long is delivered
once, cut, one byte longer than allowed, so that the decoder refuses it and it is counted; the rest of it is
skipped.

A line ends with CR, LF or both, as each instrument has it; what is empty between two ends is no line.
"""

import re

_END = re.compile(rb"[\r\n]")

LONGEST_LINE_BYTES = 4096
"""A probe's line is some hundred bytes; anything beyond this is not a line."""


class LineSplitter:
    r"""Cuts chunks of bytes at the ends of their lines.

    >>> lines = LineSplitter()
    >>> lines.feed(b"4.2,7\n118.1,50.2\r\n118.")
    [b'118.1,50.2']
    >>> lines.feed(b"3,50.1\n")
    [b'118.3,50.1']
    """

    def __init__(self) -> None:
        self._begun = b""
        self._skipping = True

    def feed(self, chunk: bytes) -> list[bytes]:
        """Return the lines that this chunk completes, without their ends."""
        *lines, self._begun = _END.split(self._begun + chunk)
        if lines and self._skipping:
            del lines[0]
            self._skipping = False
        lines = [line for line in lines if line]
        if self._skipping:
            self._begun = b""
        elif len(self._begun) > LONGEST_LINE_BYTES:
            lines.append(self._begun[: LONGEST_LINE_BYTES + 1])
            self._begun = b""
            self._skipping = True
        return lines
