"""The errors of the simulators."""


class SimulatorError(Exception):
    """The base of every error that the simulators raise on purpose."""
