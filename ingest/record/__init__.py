"""The record: one SQLite file, written by one process."""
