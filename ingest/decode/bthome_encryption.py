"""Decrypts adverts in BTHome v2, and lets none be played back.

    41 A47266C95F73 00112233 78237214
    |  |            |        |
    |  |            |        check, 4 bytes
    |  |            counter, least significant byte first; it grows with every new advert
    |  objects, encrypted
    information

AES-CCM with a key of 16 bytes; the nonce is address, D2 FC, information, counter. The counter never goes back: after a
change of its battery a probe may start anew, and is refused until Dewline is started again.

Source: bthome.io/encryption.
"""

from cryptography.exceptions import InvalidTag
from cryptography.hazmat.primitives.ciphers.aead import AESCCM

from ingest.frames import FrameError

KEY_BYTES = 16

_ASSIGNED_NUMBER = bytes.fromhex("D2FC")
_COUNTER_BYTES = _CHECK_BYTES = 4


class AdvertCipher:
    """Decrypts the adverts of one probe. key: 16 bytes, or ValueError. Its only state is the newest counter."""

    def __init__(self, key: bytes) -> None:
        if len(key) != KEY_BYTES:
            raise ValueError(f"a key of {len(key)} bytes, not {KEY_BYTES}")
        self._cipher = AESCCM(key, tag_length=_CHECK_BYTES)
        self._newest = -1

    def __call__(self, information: int, address: bytes, sealed: bytes) -> bytes | None:
        """Give the plain objects; None if this advert came before.

        Raises:
            FrameError: cut short, of another key, altered, or older than one that came before.

        """
        data, counter, check = sealed[:-8], sealed[-8:-4], sealed[-4:]
        if len(counter) < _COUNTER_BYTES:
            raise FrameError("cut short within counter and check")
        nonce = address + _ASSIGNED_NUMBER + bytes([information]) + counter
        try:
            objects = self._cipher.decrypt(nonce, data + check, None)
        except InvalidTag as error:
            raise FrameError("altered on its way, or encrypted with another key") from error
        number = int.from_bytes(counter, "little")
        if number < self._newest:
            raise FrameError(f"its counter {number} is before {self._newest}: played back, or started anew")
        if number == self._newest:
            return None
        self._newest = number
        return objects
