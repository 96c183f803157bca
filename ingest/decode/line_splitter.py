"""Lines out of a stream of bytes, with little memory whatever the stream holds.

Invariants: at most one line and one chunk are kept. Nothing is delivered before the first newline, because
the line under way when we started listening has lost its beginning. A line that is too long is delivered
once, cut, one byte longer than allowed, so that the decoder refuses it and it is counted; the rest of it is
skipped.
"""

LONGEST_LINE_BYTES = 4096
"""A probe's line is some hundred bytes; anything beyond this is not a line."""


class LineSplitter:
    r"""Cuts chunks of bytes at their newlines.

    >>> lines = LineSplitter()
    >>> lines.feed(b"4.2,7\n118.1,50.2\r\n118.")
    [b'118.1,50.2\r']
    >>> lines.feed(b"3,50.1\n")
    [b'118.3,50.1']
    """

    def __init__(self) -> None:
        self._begun = b""
        self._skipping = True

    def feed(self, chunk: bytes) -> list[bytes]:
        """Return the lines that this chunk completes, without their newline."""
        *lines, self._begun = (self._begun + chunk).split(b"\n")
        if lines and self._skipping:
            del lines[0]
            self._skipping = False
        if self._skipping:
            self._begun = b""
        elif len(self._begun) > LONGEST_LINE_BYTES:
            lines.append(self._begun[: LONGEST_LINE_BYTES + 1])
            self._begun = b""
            self._skipping = True
        return lines
