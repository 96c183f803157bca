"""A SCPI meter in the sinstruments package, which brings the serial port, its lines and their timing.

The package has no SCPI meter of its own: what this one answers is from SCPI-99, volume 1, 6.2.1 (long and short
forms, either case), volume 2, 21.8 (the error queue), and IEEE 488.2, 10.14 (`*IDN?`), 10.11 (`*ESE?`) and 8.4 (several
units in one message are answered in one; from memory).
"""

import re

from sinstruments.simulator import BaseDevice

VALUES = {
    r"MEAS(URE)?:CURR(ENT)?:AC\? \(@1\)": b"+1.84200000E+01",
    r"MEAS(URE)?:CURR(ENT)?:AC\? \(@2\)": b"1.9",
    r"MEAS(URE)?:VOLT(AGE)?:AC\?": b"9.9E37",
}


class Meter(BaseDevice):  # type: ignore[misc]
    """The meter. Everything it does not know goes into its queue of errors."""

    def __init__(self, name: str, **options: object) -> None:
        super().__init__(name, **options)
        self._errors: list[bytes] = [b'-100,"Left over from whoever asked before"']

    def handle_message(self, message: bytes) -> bytes | None:
        answers = [self._answer(unit.strip().upper()) for unit in message.decode().split(";")]
        said = [answer for answer in answers if answer is not None]
        return b";".join(said) + b"\r\n" if said else None

    def _answer(self, command: str) -> bytes | None:
        if command == "*IDN?":
            return b"PEER,METER,0,1"
        if command == "*ESE?":
            return b"32"
        if command == "*CLS":
            self._errors.clear()
            return None
        if re.fullmatch(r"SYST(EM)?:ERR(OR)?(:NEXT)?\?", command):
            return self._errors.pop(0) if self._errors else b'+0,"No error"'
        for query, value in VALUES.items():
            if re.fullmatch(query, command):
                return value
        self._errors.append(b'-113,"Undefined header"')
        return None
