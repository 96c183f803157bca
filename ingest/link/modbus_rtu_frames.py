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
_ANSWERS = [bytes([function]) for function in _FUNCTIONS.values()]
_REFUSALS = [bytes([function | _REFUSED]) for function in _FUNCTIONS.values()]
_CHECK_BYTES = 2


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
    function = _FUNCTIONS[request.table]
    length = 2 * request.words if request.table in ("holding", "input") else (request.words + 7) // 8
    data = _find(bytes([request.device, function, length]), length, received)
    if data is not None:
        return data
    exception = _find(bytes([request.device, function | _REFUSED]), 1, received)
    if exception is not None:
        raise RefusedError(exception[0])
    return None


def without_answer(received: bytes, request: Request) -> bytes:
    """Take the answer to a request, or its refusal, out of what came; the rest was for nobody, or is for another."""
    function = _FUNCTIONS[request.table]
    length = 2 * request.words if request.table in ("holding", "input") else (request.words + 7) // 8
    for head, data_length in (
        (bytes([request.device, function, length]), length),
        (bytes([request.device, function | _REFUSED]), 1),
    ):
        data = _find(head, data_length, received)
        if data is not None:
            before, _, after = received.partition(_checked(head + data))
            return before + after
    return received


def take_answers(received: bytes) -> tuple[set[int], bytes]:
    """Give the devices of all whole answers and refusals among the bytes that came, and what comes after them.

    >>> take_answers(bytes.fromhex("ff") + _checked(bytes.fromhex("1103022b00")) + b"rest")
    ({17}, b'rest')
    """
    devices, at, end_of_last = set(), 0, 0
    while at < len(received):
        end = at + 3 + (received[at + 2] if received[at + 1 : at + 2] in _ANSWERS and at + 2 < len(received) else 0)
        whole = received[at + 1 : at + 2] in _ANSWERS + _REFUSALS and received[at : end + _CHECK_BYTES] == _checked(
            received[at:end]
        )
        if whole:
            devices.add(received[at])
            end_of_last = end + _CHECK_BYTES
        at = end_of_last if whole else at + 1
    return devices, received[end_of_last:]


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
