"""Texts in the cells of a table that goes out: none is run by a spreadsheet, and each comes in again as it was."""

_BEGINS = ("=", "+", "-", "@", "'")
"""With what a cell begins that a spreadsheet takes for a formula (CWE-1236), and the apostrophe put before it."""


def guarded(text: str) -> str:
    """Write a text as a cell.

    >>> guarded("=A1"), guarded("'+1"), guarded("silent")
    ("'=A1", "''+1", 'silent')
    """
    return f"'{text}" if text.startswith(_BEGINS) else text


def unguarded(cell: str) -> str:
    """Read what `guarded` wrote; an apostrophe before anything else was typed, and stays.

    >>> unguarded("'=A1"), unguarded("''+1"), unguarded("'t")
    ('=A1', "'+1", "'t")
    """
    return cell[1:] if cell.startswith("'") and cell[1:].startswith(_BEGINS) else cell
