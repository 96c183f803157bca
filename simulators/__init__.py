"""A physical model of a unit, and devices that speak the real protocols.

Invariant: of ingest nothing is known here but what travels, so that no test agrees with itself (import contract).
"""
