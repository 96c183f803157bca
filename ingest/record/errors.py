"""What can go wrong with a record."""


class RecordError(Exception):
    """The record cannot be opened, or holds what it should not."""


class NotSavedError(Exception):
    """The disk refused. Nothing of what was asked is in the record."""
