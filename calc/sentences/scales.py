"""What a scale shows of the cylinder on it, in English."""

SENTENCES: dict[str, str] = {
    "weighed.left": "{mass} left the cylinder. Keep?",
    "weighed.left_hose": "{mass} left the cylinder, and {hose} of it is in the hose. Keep {net}?",
    "weighed.came": "{mass} came into the cylinder. Keep?",
    "weighed.left_in_view": "{mass} left the cylinder while circuit {circuit} was in view. Keep it for that circuit?",
    "weighed.came_in_view": "{mass} came into the cylinder while circuit {circuit} was in view. Keep it for that "
    "circuit?",
    "weighed.so_far": "{mass} has left the cylinder so far.",
    "weighed.so_far_came": "{mass} has come into the cylinder so far.",
}
