"""Scenarios that come along; `long_lines` is the usual one."""
