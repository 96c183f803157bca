"""The parts of the Charge page, as pure functions from what is known to components."""
