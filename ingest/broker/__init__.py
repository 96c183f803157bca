"""The broker that a rig publishes to, and a broker of our own where there is none.

Invariant: beyond this machine nobody comes in without TLS and a password, and nobody writes or asks but under their own
name (tests/ingest/broker/test_serve.py); the embedded broker listens on loopback only (test_embedded.py).
"""
