"""MQTT and history to the browser: the page that a technician and a lead watch."""
