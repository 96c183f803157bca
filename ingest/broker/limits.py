"""How much a broker of ours takes from a client, and for how long it waits for one."""

from ingest.wire.messages import LARGEST_MESSAGE_BYTES

LARGEST_PACKET_BYTES = LARGEST_MESSAGE_BYTES + 1024
"""A message with its topic and headers."""

MOST_RETAINED = 500
MOST_RETAINED_BYTES = 4 * 1024 * 1024
"""What the embedded broker keeps for those who come later: it is in the daemon's memory. A rig retains
a few dozen, and the sheets of up to 300 units, of 2 MiB at most."""

PATIENCE_S = 5.0
"""How long a client may take to introduce itself, or to take what is written to it."""
