"""What can go wrong with a record."""


class RecordError(Exception):
    """The record cannot be opened, or holds what it should not."""


class NotSavedError(RecordError):
    """Nothing of what was asked is in the record. reason: what is wrong; cure: what to do about it, a sentence."""

    def __init__(self, reason: str, cure: str = "") -> None:
        super().__init__(f"{reason}. {cure}" if cure else reason)
        self.reason = reason
        self.cure = cure


class WaitsError(NotSavedError):
    """It is shown at the unit all the same, and recorded as soon as the disk takes it. refusal: why it is not yet."""

    def __init__(self, refusal: NotSavedError) -> None:
        shown = "It is shown at the unit all the same, and recorded as soon as the disk takes it."
        super().__init__(refusal.reason, f"{refusal.cure} {shown}".strip())


class DamagedError(NotSavedError):
    """What is in the file is no whole record any more."""


class HeldError(NotSavedError):
    """Another process writes the record. holder: what it says of itself."""

    def __init__(self, holder: str) -> None:
        super().__init__(
            f"another daemon writes this record ({holder})",
            "Stop that one, or give this one a record of its own. This one then records by itself.",
        )
        self.holder = holder
