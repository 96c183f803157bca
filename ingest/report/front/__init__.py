"""The front of a report: for the owner, in plain words, readable in a minute by somebody who does not repair.

Invariant: none of the trade's figures by its name or abbreviation stands here; the back has them.
"""
