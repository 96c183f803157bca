"""Many cases in one test: cheaper than a test each, and what fails still says of which case it speaks."""

from collections.abc import Iterator
from contextlib import contextmanager


@contextmanager
def case(*what: object) -> Iterator[None]:
    """Name the case beneath whatever is raised of it."""
    try:
        yield
    except Exception as error:
        error.add_note(f"of {', '.join(map(str, what))}")
        raise
