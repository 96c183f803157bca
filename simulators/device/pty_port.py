"""A serial port that is not there: a pseudo-terminal behind a name like those under /dev/serial/by-id."""

import os
import tty
from contextlib import suppress
from pathlib import Path


class PtyPort:
    """The device's end of a serial port that can be unplugged.

    `address` is a symbolic link, as by-id names are, so that it stays the same over every unplugging. The
    other end of the pair is kept open while plugged in, because Linux reports a hang-up to the master when
    nobody has it open.
    """

    def __init__(self, address: Path) -> None:
        self.address = address
        self._ends: tuple[int, int] | None = None

    def plug(self) -> int:
        """Make the port appear; returns the descriptor to serve it at. Plugging in twice is harmless."""
        if self._ends is None:
            master, slave = os.openpty()
            tty.setraw(slave)
            os.set_blocking(master, False)
            self._ends = master, slave
            self.address.parent.mkdir(parents=True, exist_ok=True)
            self.address.unlink(missing_ok=True)
            self.address.symlink_to(os.ttyname(slave))
        return self._ends[0]

    def unplug(self) -> None:
        """Make the port vanish under whoever has it open. Unplugging twice is harmless."""
        if self._ends is not None:
            self.address.unlink(missing_ok=True)
            for end in self._ends:
                os.close(end)
            self._ends = None

    def write(self, data: bytes) -> None:
        """Send bytes. What nobody reads is lost when the port's buffer is full, as it is on a real one."""
        if self._ends is not None:
            with suppress(BlockingIOError):
                os.write(self._ends[0], data)
