"""A physical model of a unit. Shares no constant with the judge."""
