"""MQTT and history to the browser: the page that a technician and a lead watch.

One folder a page: its layout, its callbacks, and under browser/ its scripts and style. What pages share is in shared/;
what is known of the rig, and its words, stand beside them.

Invariant: the dashboard writes no record and works out nothing of the trade; of ingest it knows only what travels and
the reading of the record (import contract); what is shown has no hole that the record has not (test_recall.py).
"""
