"""A simulated unit in real time, with simulated instruments around it."""
