"""When a check is met, as data: a small closed set of rules, read from the files beside the checks.

Each rule of a check tells met, not met or cannot tell, or nothing; the worst of them counts. `only`: the rule holds
where this is so. `optional`: it tells nothing where what it needs was not taken. `trick`: what would tell where the
instruments cannot, by its sentence in `calc.sentences`.
"""

from collections.abc import Sequence
from typing import Literal

import msgspec

from ingest.wire.checklist import Fact


class RuleBase(msgspec.Struct, frozen=True, forbid_unknown_fields=True, tag_field="kind", kw_only=True):
    """What every rule has."""

    only: Fact | Literal[""] = ""
    optional: bool = False
    trick: str = "finer_meter"


class Below(RuleBase, frozen=True, forbid_unknown_fields=True, tag="below", kw_only=True):
    """Every value of a figure is below a limit."""

    figure: str
    limit: float


class Between(RuleBase, frozen=True, forbid_unknown_fields=True, tag="between", kw_only=True):
    """Every value of a figure is within limits; None for no limit on that side."""

    figure: str
    low: float | None = None
    high: float | None = None


class ShareOf(RuleBase, frozen=True, forbid_unknown_fields=True, tag="share_of", kw_only=True):
    """A value, as a share of another one, is within limits."""

    figure: str
    of: str
    low: float
    high: float


class Alike(RuleBase, frozen=True, forbid_unknown_fields=True, tag="alike", kw_only=True):
    """All values of a figure, `least` of them, lie within a share of their mean."""

    figure: str
    share: float
    least: int = 2


class Chosen(RuleBase, frozen=True, forbid_unknown_fields=True, tag="chosen", kw_only=True):
    """What was chosen tells; what is in neither list cannot tell.

    graded: nothing but a person tells it, so that the finding is known no better than by their word.
    """

    choice: str
    met: Sequence[str]
    not_met: Sequence[str] = ()
    graded: bool = False


class Given(RuleBase, frozen=True, forbid_unknown_fields=True, tag="given", kw_only=True):
    """These texts are there."""

    names: Sequence[str]


class Photographed(RuleBase, frozen=True, forbid_unknown_fields=True, tag="photographed", kw_only=True):
    """There are so many photographs."""

    least: int


class Called(RuleBase, frozen=True, forbid_unknown_fields=True, tag="called", kw_only=True):
    """A function tells, by its name in `ingest.visit.rule_table.RULES`: it asks calc."""

    function: str


class AllOf(RuleBase, frozen=True, forbid_unknown_fields=True, tag="all_of", kw_only=True):
    """All of these."""

    rules: Sequence["Rule"]


Rule = Below | Between | ShareOf | Alike | Chosen | Given | Photographed | Called | AllOf
