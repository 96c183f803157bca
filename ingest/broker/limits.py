"""How much a broker of ours takes from a client, and for how long it waits for one."""

from ingest.wire.messages import LARGEST_MESSAGE_BYTES

LARGEST_PACKET_BYTES = LARGEST_MESSAGE_BYTES + 1024
"""A message with its topic and headers."""

PATIENCE_S = 5.0
"""How long a client may take to introduce itself, or to take what is written to it."""
