"""The ids of the page: what callbacks and the live script hold on to. Nothing else spells one out."""

from typing import Literal

UNITS = "units"
OPENING = "opening"
NOTE_READ = "note-read"
OUTCOME = "outcome"

TAKE_READING = "take-reading"
GOT_IT = "got-it"


class Amount:
    """The kind and the ids of one dialog that records an amount: `added`, `recovered`, or `correction` of one."""

    def __init__(self, kind: Literal["added", "recovered", "correction"]) -> None:
        self.kind = kind
        self.open = f"{kind}-open"
        self.dialog = f"{kind}-dialog"
        self.body = f"{kind}-body"
        self.amount = f"{kind}-amount"
        self.phase = f"{kind}-phase"
        self.review = f"{kind}-review"
        self.reviewed = f"{kind}-reviewed"
        self.draft = f"{kind}-draft"
        self.confirm = f"{kind}-confirm"
        self.recorded = f"{kind}-recorded"
        self.closed = f"{kind}-closed"
        self.result = f"{kind}-result"


ADDED = Amount("added")
RECOVERED = Amount("recovered")
CORRECTION = Amount("correction")
CORRECTION_OF = "correction-of"

GLANCE = "glance"
GLANCE_OPEN = "glance-open"
GLANCE_BACK = "glance-back"
COMFORT_OPEN = "comfort-open"
COMFORT_DIALOG = "comfort-dialog"

NOTE_OPEN = "note-open"
NOTE_DIALOG = "note-dialog"
NOTE_TEXT = "note-text"
NOTE_SEND = "note-send"
NOTE_RESULT = "note-result"
NOTE_RECORDED = "note-recorded"
NOTE_AT = "note-at"
NOTE_CLOSED = "note-closed"

CHECK_OPEN = "check-open"
CHECK_DIALOG = "check-dialog"
CHECK_KIND = "check-kind"
CHECK_FORM = "check-form"
CHECK_CHANNEL = "check-channel"
CHECK_OTHER = "check-other"
CHECK_START = "check-start"
CHECK_CONFIRM = "check-confirm"
CHECK_FOUND = "check-found"
CHECK_DRAFT = "check-draft"
CHECK_ASKED = "check-asked"
CHECK_CORRECT = "check-correct"
CHECK_RESULT = "check-result"

VERDICT_OPEN = "verdict-open"
VERDICT_DIALOG = "verdict-dialog"
VERDICT_FORM = "verdict-form"
VERDICT_FAULT = "verdict-fault"
VERDICT_REVIEW = "verdict-review"
VERDICT_REVIEWED = "verdict-reviewed"
VERDICT_DRAFT = "verdict-draft"
VERDICT_COMMIT = "verdict-commit"
VERDICT_RESULT = "verdict-result"

HANDS_OPEN = "hands-open"
HANDS_DIALOG = "hands-dialog"
AT_THE_UNIT = "at-the-unit"
"""In the address of the charging page: whoever follows it wants the controls at the unit."""

INVITE_OPEN = "invite-open"
INVITE_DIALOG = "invite-dialog"
INVITE_RESULT = "invite-result"
