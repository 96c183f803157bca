"""What a person touched, of all that a browser sends at once."""

from dash import ctx


def is_touched(button: str) -> bool:
    """Whether this button was touched: not always the first of what changed.

    Whoever fills a field and touches a button at once may send both in one request, and then the touch is what counts.
    """
    return button in ctx.triggered_prop_ids.values()


def is_touched_alone(button: str) -> bool:
    """Whether this button was touched and nothing else changed: what confirms an answer must not take another along."""
    return set(ctx.triggered_prop_ids.values()) == {button}
