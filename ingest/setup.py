"""A rig's configuration file, and what it means."""

from dataclasses import dataclass, replace
from pathlib import Path

from ingest.config.load import Config, load, resolve
from ingest.rig import Rig
from ingest.wire.messages import UnitAbout


@dataclass(frozen=True, slots=True)
class Setup:
    """What a configuration file says, and what that means in SI.

    unit: the one that somebody opened instead of the file's, or another circuit of it.
    """

    path: Path
    config: Config
    rig: Rig
    unit: UnitAbout | None = None

    def read_again(self) -> "Setup":
        """Read the file again.

        Raises:
            ConfigError: it cannot be used.

        """
        config = load(self.path)
        return Setup(self.path, config, self._at(resolve(config, self.path)), self.unit)

    def configured(self) -> Rig:
        """Give the rig as the file has it, without what was corrected since."""
        return self._at(resolve(self.config, self.path))

    def at(self, unit: UnitAbout | None) -> "Setup":
        """Give the same at another unit; None for that of the file."""
        moved = replace(self, unit=unit)
        return replace(moved, rig=replace(self.rig, unit=moved.configured().unit))

    def _at(self, rig: Rig) -> Rig:
        return replace(rig, unit=self.unit) if self.unit else rig
