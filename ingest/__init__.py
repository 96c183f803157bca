"""Instruments to record to MQTT: the daemon that reads, keeps and publishes."""
