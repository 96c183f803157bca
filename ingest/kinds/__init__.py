"""The kinds of link, one file each: what a configuration says of it, how it is checked, built, named and recognised.

Invariant: a kind is described in its own file and stands once in `table`; everything else, from the configuration's
keys to the word on the page, comes from there (tests/ingest/kinds/test_table.py).
"""
