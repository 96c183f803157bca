"""The broker that a rig publishes to, and a broker of our own where there is none."""
