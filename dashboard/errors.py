"""The errors of the page: each says what was wrong and what to do."""

from collections.abc import Mapping, Sequence
from typing import Any

from ingest.wire.messages import Wording


class DashboardError(Exception):
    """The base of every error that the dashboard raises on purpose."""


class SettingsError(DashboardError):
    """The settings cannot work, or would serve the page to people who should not see it."""


class InvitationError(DashboardError):
    """A link that does not let anyone in: forged, expired or used already."""


class AccountError(DashboardError):
    """An account that cannot be so, or that lets nobody in."""


class FullError(DashboardError):
    """There is no place left for a further page."""


class HistoryError(DashboardError):
    """The record cannot be read; the page goes on without the past."""


class ReportRefusedError(DashboardError):
    """There is no report of what was asked for. status: the HTTP status that says why. reason: in words."""

    def __init__(self, status: int, reason: str) -> None:
        super().__init__(reason)
        self.status = status
        self.reason = reason


class AskError(DashboardError):
    """A request that did not become a mark.

    status: the HTTP status that says why. reason: in words. wording: the same with its figures in either system of
    units, where it has any.
    """

    def __init__(self, status: int, reason: str, wording: Wording | None = None) -> None:
        super().__init__(reason)
        self.status = status
        self.reason = reason
        self.wording = wording


class AskWaitsError(AskError):
    """The rig shows it at the unit, and has not recorded it yet: it is asked again under its id until it has."""


class AskQuestionError(AskError):
    """The rig wants a person to confirm what is asked.

    question: what to put to them. asks: what a yes has to confirm, by its names. offers: what else answers it by a
    touch, as `dashboard.looked` lays that out.
    """

    def __init__(self, question: Wording, asks: Sequence[str], offers: Sequence[Mapping[str, Any]] = ()) -> None:
        super().__init__(409, question.us)
        self.question = question
        self.asks = tuple(asks)
        self.offers = offers
