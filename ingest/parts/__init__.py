"""The parts of the daemon, each of which can be started alone: what it needs is given to it, not fetched.

Invariant: no part knows another; ingest/daemon.py alone joins them. A contract of import-linter holds it.
"""
