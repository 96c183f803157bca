"""The check by which somebody says what was seen where the readings point."""

from ingest.wire.messages import Finding, Mark

LOOKED_FOR = "looked_for"
"""The word of the check; its choices are `cause` and `seen`."""


def put_right(mark: Mark) -> bool:
    """Tell whether a mark says that something was put right: what was read before is of another unit."""
    return isinstance(mark, Finding) and mark.check == LOOKED_FOR and mark.choices.get("seen") == "mended"
