"""Why there is no report."""


class ReportError(Exception):
    """No report can be made of what was asked for: says what is wrong, and what would do."""


class UnknownVisitError(ReportError):
    """The record has no such visit."""


class ErasedVisitError(ReportError):
    """The visit was erased from the record."""


class NoVisitError(ReportError):
    """It is the log of a logger, brought in: nobody was there who did anything."""


class PaperError(Exception):
    """A page could not be drawn; says what the library said."""
