"""A serial line with Modbus devices: requests and answers, one at a time, and no answer taken for another."""

import time
from collections.abc import Callable
from contextlib import suppress

from ingest.frames import Stamp
from ingest.link.modbus_answers_due import AnswersDue
from ingest.link.modbus_request import RefusedError, Request, may_still_answer
from ingest.link.modbus_rtu_frames import (
    LONGEST_FRAME_BYTES,
    answer_in,
    request_frame,
    take_answers,
    without_answer,
)
from ingest.link.serial_thread import READ_TIMEOUT_S, Port


class RtuBus:
    """The line at an open port.

    due: what is due from earlier. late: told of an answer that came after its time, and how long after its request [s].
    """

    def __init__(
        self, port: Port, baud: int, due: AnswersDue, late: Callable[[Request, float], None] = lambda *_: None
    ) -> None:
        self._port = port
        self._due = due
        self._late = late
        self._received = b""
        self._out_of_step = set[int]()
        self._pause_s = max(3.5 * 11 / baud, 0.00175)
        """How long the line must be silent between frames: 3.5 characters of 11 bits, and 1.75 ms beyond 19200 baud
        (MODBUS over Serial Line V1.02, 2.5.1.1)."""

    def read(self, request: Request) -> tuple[bytes, Stamp]:
        """Read registers: their bytes, and when the answer was complete.

        Raises:
            RefusedError: the device answers with an exception.
            TimeoutError: it does not answer in time, or not intelligibly.

        """
        self._due.will_ask(request)
        self._settle(request)
        asked_s = self._send(request)
        try:
            answer = self._answer(request, asked_s + self._due.timeout_s)
        except RefusedError as refused:
            if self._due.is_final(request, refused.exception):
                self._due.answered(request)
            else:
                self._due.unanswered(request, asked_s)
                self._await_overdue(request.device, asked_s + self._due.timeout_s)
            raise
        if answer is None:
            self._due.unanswered(request, asked_s)
            self._look_for_overdue()
            raise TimeoutError
        self._due.answered(request)
        return answer

    def confirm(self, request: Request) -> bool:
        """Ask what is answered like no value: say whether all answers of the device so far were those waited for.

        Raises:
            TimeoutError: the device does not answer in time.

        """
        self._due.will_ask(request)
        asked_s = self._send(request)
        with suppress(RefusedError):
            if self._answer(request, asked_s + self._due.timeout_s) is None:
                raise TimeoutError
        return self.is_in_step(request.device)

    def is_in_step(self, device: int) -> bool:
        """Say whether a device has sent nothing since this was last asked that nobody waited for."""
        self._take(self._port.read_waiting())
        self._look_for_unasked()
        is_in_step = device not in self._out_of_step
        self._out_of_step.discard(device)
        return is_in_step

    def listen_until(self, moment_s: float) -> None:
        """Wait until a moment of the monotonic clock [s], and look out for overdue answers."""
        while time.monotonic() < moment_s - READ_TIMEOUT_S:
            self._take(self._port.read())
        time.sleep(max(0.0, moment_s - time.monotonic()))
        self._take(self._port.read_waiting())

    def _settle(self, request: Request) -> None:
        """Make sure that no earlier answer of this device is due.

        Raises:
            TimeoutError: one still is.

        """
        if not self._is_overdue(request.device):
            return
        probe = self._due.probe(request)
        deadline_s = self._send(probe) + self._due.timeout_s
        while self._is_overdue(request.device):
            try:
                answer = self._answer(probe, deadline_s)
            except RefusedError as refused:
                if may_still_answer(refused.exception) or self._due.probe_answered(probe, refused=True):
                    continue
                if key := self._due.key(request):
                    self._await_overdue(request.device, self._send(key) + self._due.timeout_s)
            else:
                if answer is None:
                    break
                self._due.probe_answered(probe, refused=False)
        if self._is_overdue(request.device):
            raise TimeoutError
        self._received = b""  # answers to earlier probes

    def _await_overdue(self, device: int, deadline_s: float) -> None:
        """Listen until what is overdue of a device has come, or can no more, or until that moment [s]."""
        while self._is_overdue(device) and time.monotonic() < deadline_s:
            self._take(self._port.read(deadline_s))

    def _is_overdue(self, device: int) -> bool:
        return any(overdue.device == device for overdue, _ in self._due.overdue(time.monotonic()))

    def _send(self, request: Request) -> float:
        """Send a request over the line once it is quiet; gives when [s]."""
        self.listen_until(time.monotonic() + self._pause_s)
        self._look_for_unasked()
        self._received = b""
        self._port.write(request_frame(request))
        return time.monotonic()

    def _answer(self, request: Request, deadline_s: float) -> tuple[bytes, Stamp] | None:
        """Wait for an answer; None if it does not come by that moment of the monotonic clock [s].

        Raises:
            RefusedError: the device answers with an exception.

        """
        while True:
            self._take(self._port.read(deadline_s))
            stamp = Stamp.now()
            if stamp.monotonic_ns / 1e9 > deadline_s:
                return None
            try:
                words = answer_in(self._received, request)
            except RefusedError:
                self._received = without_answer(self._received, request)
                raise
            if words is not None:
                self._received = without_answer(self._received, request)
                return words, stamp

    def _take(self, chunk: bytes) -> None:
        """Take in bytes, and note what was overdue among them."""
        if not chunk:
            return
        self._received = (self._received + chunk)[-2 * LONGEST_FRAME_BYTES :]
        self._look_for_overdue()

    def _look_for_overdue(self) -> None:
        now_s = time.monotonic()
        for overdue, asked_s in self._due.overdue(now_s):
            if self._is_in(overdue):
                self._due.came(overdue)
                self._received = without_answer(self._received, overdue)
                self._late(overdue, now_s - asked_s)
        for key in self._due.open_keys():
            if self._is_in(key):
                self._due.key_answered(key)
                self._received = without_answer(self._received, key)

    def _look_for_unasked(self) -> None:
        """Note which devices sent an answer that nobody waits for, such as a repeated one."""
        devices, self._received = take_answers(self._received)
        self._out_of_step |= devices

    def _is_in(self, request: Request) -> bool:
        try:
            return answer_in(self._received, request) is not None
        except RefusedError as refused:
            return not may_still_answer(refused.exception)
