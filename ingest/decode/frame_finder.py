"""Frames of fixed length out of a stream of bytes, found by what is fixed in them.

Invariants: less than two frames and one chunk are kept. The part of a frame that was under way when we started
listening is skipped in silence; later on, whatever lies between frames is delivered too, at most a frame's length at
a time, so that the decoder refuses it and it is counted.
"""

from collections.abc import Callable

IsFrame = Callable[[bytes], bool]
"""Knows a frame of the right length by its fixed bytes."""


class FrameFinder:
    r"""Cuts chunks of bytes into frames.

    >>> frames = FrameFinder(2, lambda frame: frame[:1] == b"#")
    >>> frames.feed(b"4#1#2#")
    [b'#1', b'#2']
    >>> frames.feed(b"3?#4")
    [b'#3', b'?', b'#4']
    """

    def __init__(self, length: int, is_frame: IsFrame) -> None:
        self._length = length
        self._is_frame = is_frame
        self._begun = b""
        self._forgiven = length - 1

    def feed(self, chunk: bytes) -> list[bytes]:
        """Return the frames that this chunk completes, and what lay between them."""
        stream = self._begun + chunk
        found = []
        lost_from = at = 0
        while at + self._length <= len(stream):
            if self._is_frame(stream[at : at + self._length]):
                found += self._lost(stream[lost_from:at])
                found.append(stream[at : at + self._length])
                self._forgiven = 0
                lost_from = at = at + self._length
            else:
                at += 1
                if at - lost_from == self._length:
                    found += self._lost(stream[lost_from:at])
                    lost_from = at
        self._begun = stream[lost_from:]
        return found

    def _lost(self, between: bytes) -> list[bytes]:
        forgiven = min(self._forgiven, len(between))
        self._forgiven -= forgiven
        return [between[forgiven:]] if between[forgiven:] else []
