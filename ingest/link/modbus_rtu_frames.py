"""Modbus RTU frames: a request to read registers, and its answer among the bytes that came.

    request  device | 3 or 4   | first address, 2 bytes | how many registers, 2 bytes | check, 2 bytes
    answer   device | 3 or 4   | how many bytes | two bytes a register, high one first | check, 2 bytes
             (1 or 2 for coils or discrete inputs, eight a byte)
    refusal  device | 83 or 84 | exception                                             | check, 2 bytes

Addresses and numbers have their high byte first, the check (a CRC) its low one.

Source: MODBUS Application Protocol Specification V1.1b3, 6.1 to 6.4 and 7; MODBUS over Serial Line V1.02, 2.5.1 and
appendix B.
"""

from collections.abc import Mapping
from types import MappingProxyType

from ingest.link.modbus_request import AnyTable, RefusedError, Request

LONGEST_FRAME_BYTES = 256

_FUNCTIONS: Mapping[AnyTable, int] = MappingProxyType({"coils": 1, "discrete": 2, "holding": 3, "input": 4})
_REFUSED = 0x80
_HEAD_BYTES, _CHECK_BYTES = 3, 2


def request_frame(request: Request) -> bytes:
    """Give the bytes to send.

    The example of 6.3 asks device 17 for the holding registers 108 to 110, whose addresses are 107 to 109.

    >>> request_frame(Request(17, "holding", 107, 3)).hex()
    '1103006b00037687'
    """
    head = bytes([request.device, _FUNCTIONS[request.table]])
    return _checked(head + request.address.to_bytes(2, "big") + request.words.to_bytes(2, "big"))


def answer_in(received: bytes, request: Request) -> bytes | None:
    """Find the answer to a request, and give the bytes of its registers; None where there is none yet.

    What is not the answer is passed over: noise, and the request itself, which some adapters echo.

    Raises:
        RefusedError: the device answers with an exception.

    """
    answer, refusal = _answers_to(request)
    data = _find(*answer, received)
    if data is not None:
        return data
    exception = _find(*refusal, received)
    if exception is not None:
        raise RefusedError(exception[0])
    return None


def without_answer(received: bytes, request: Request) -> bytes:
    """Take the answer to a request, or its refusal, out of what came; the rest was for nobody, or is for another."""
    for head, length in _answers_to(request):
        data = _find(head, length, received)
        if data is not None:
            before, _, after = received.partition(_checked(head + data))
            return before + after
    return received


def _answers_to(request: Request) -> tuple[tuple[bytes, int], tuple[bytes, int]]:
    """Give how the answer to a request begins, and its refusal, each with how many bytes follow before the check."""
    function = _FUNCTIONS[request.table]
    length = 2 * request.words if request.table in ("holding", "input") else (request.words + 7) // 8
    return (bytes([request.device, function, length]), length), (bytes([request.device, function | _REFUSED]), 1)


def take_answers(received: bytes) -> tuple[set[int], bytes]:
    """Give the devices of all whole answers and refusals among the bytes that came, and what comes after them.

    >>> take_answers(bytes.fromhex("ff") + _checked(bytes.fromhex("1103022b00")) + b"rest")
    ({17}, b'rest')
    """
    devices, at, end_of_last = set(), 0, 0
    while at < len(received):
        end = _end_of_answer(received, at)
        if end:
            devices.add(received[at])
            end_of_last = end
        at = end or at + 1
    return devices, received[end_of_last:]


def _end_of_answer(received: bytes, start: int) -> int:
    """Say where the whole answer or refusal ends that begins there; 0 where none does."""
    head = received[start : start + _HEAD_BYTES]
    if len(head) < _HEAD_BYTES or head[1] & ~_REFUSED not in _FUNCTIONS.values():
        return 0
    end = start + _HEAD_BYTES + (0 if head[1] & _REFUSED else head[2])
    whole = received[start : end + _CHECK_BYTES] == _checked(received[start:end])
    return end + _CHECK_BYTES if whole else 0


def crc(frame: bytes) -> int:
    """Compute the check of a frame.

    >>> hex(crc(bytes([0x02, 0x07])))
    '0x1241'
    """
    register = 0xFFFF
    for byte in frame:
        register ^= byte
        for _ in range(8):
            register = register >> 1 ^ (0xA001 if register & 1 else 0)
    return register


def _checked(frame: bytes) -> bytes:
    return frame + crc(frame).to_bytes(_CHECK_BYTES, "little")


def _find(head: bytes, length: int, received: bytes) -> bytes | None:
    """Find a whole frame that begins with `head`, and give the `length` bytes that follow there."""
    start = received.find(head)
    while start >= 0:
        end = start + len(head) + length
        if received[start : end + _CHECK_BYTES] == _checked(received[start:end]):
            return received[start + len(head) : end]
        start = received.find(head, start + 1)
    return None
