"""What the instruments show and a person need only confirm: the visit writes itself.

The rig proposes by a mark, so that nothing is lost and nothing asked twice; whoever keeps a proposal makes the mark of
what was proposed, which names it.
"""

from collections.abc import Mapping, Sequence
from typing import Literal

import msgspec

from ingest.wire.events import Confirmable, MarkBase
from ingest.wire.wording import Wording


class ProposedFinding(msgspec.Struct, frozen=True, omit_defaults=True, tag_field="kind", tag="finding"):
    """What a guided check would find. Fields as in `ingest.wire.findings.Finding`; its grade is measured.

    per: where a value was taken, if no instrument tells: it is one or several of these, by the second part of a value's
    name, each with its word. That part of its name is "?" then; it means a figure by that name alone where the
    check has one. places: so many of them were seen, where they were counted; 0 where not.
    """

    check: str
    values: Mapping[str, float] = {}
    per: Mapping[str, str] = {}
    places: int = 0
    standard_uncertainties: Mapping[str, float] = {}
    choices: Mapping[str, str] = {}
    part: str = ""
    circuit: str = ""


class ProposedMove(msgspec.Struct, frozen=True, omit_defaults=True, tag_field="kind", tag="move"):
    """A mass that left a cylinder, or went into one where it is below 0 [kg]. circuit: in view while it was seen."""

    mass_kg: float
    standard_uncertainty_kg: float
    cylinder: str = ""
    circuit: str = ""


class ProposedPlace(msgspec.Struct, frozen=True, omit_defaults=True, tag_field="kind", tag="place"):
    """Channels seem to have moved to another circuit or part, or to none: on is empty then."""

    channels: Sequence[str]
    on: str = ""


class ProposedUnit(msgspec.Struct, frozen=True, omit_defaults=True, tag_field="kind", tag="unit"):
    """The unit whose blower follows the fan switch, by its tag, and how probable that is; empty for none of these."""

    tag: str
    probability: float


WhatProposed = ProposedFinding | ProposedMove | ProposedPlace | ProposedUnit


class Proposed(MarkBase, frozen=True, omit_defaults=True, tag="proposed", kw_only=True):
    """The rig proposes. from_s, to_s: when it was seen [s since 1970]. says: in words, as a question to keep it."""

    what: WhatProposed
    from_s: float
    to_s: float
    says: Wording


class Dismissed(MarkBase, frozen=True, omit_defaults=True, tag="dismissed", kw_only=True):
    """A proposal was not so. of: its id; the text may say why."""

    of: str


class KeepAsk(Confirmable, frozen=True, omit_defaults=True, tag="keep", kw_only=True):
    """It is so. of: the id of the proposal.

    mass_kg: of a move, where the person knows better. phase: of what was added, as it left the cylinder, which no scale
    tells. per: of a finding, which of those that the proposal names it was. choices: of a finding, what no instrument
    tells, such as that it was at the place of work.
    """

    of: str
    mass_kg: float | None = None
    phase: Literal["liquid", "vapour", ""] = ""
    per: Sequence[str] = ()
    choices: Mapping[str, str] = {}


class DismissAsk(Confirmable, frozen=True, omit_defaults=True, tag="dismiss", kw_only=True):
    """It is not so. confirmed: the person was asked, and it is so."""

    of: str
    text: str = ""


class ByHold(msgspec.Struct, frozen=True, omit_defaults=True):
    """What the HOLD key of a linked meter takes next: whoever holds its leads presses it where they were asked to.

    check, name: whose figure it is; label: it in words. number, of: which of how many. says: what came of the last
    press; None before the first. While a lead's stop stands it takes nothing: name and label are empty, says tells why.
    """

    check: str
    name: str
    label: str
    number: int
    of: int
    says: Wording | None = None


class ProposalStands(msgspec.Struct, frozen=True):
    """A proposal that waits for a person."""

    id: str
    time_s: float
    from_s: float
    to_s: float
    what: WhatProposed
    says: Wording
