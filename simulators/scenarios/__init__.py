"""Scenarios that come along; `low_charge` is the usual one."""
