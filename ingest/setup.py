"""A rig's configuration file, and what it means."""

from dataclasses import dataclass
from pathlib import Path

from ingest.config.load import Config, load, resolve
from ingest.rig import Rig


@dataclass(frozen=True, slots=True)
class Setup:
    """What a configuration file says, and what that means in SI."""

    path: Path
    config: Config
    rig: Rig

    def read_again(self) -> "Setup":
        """Read the file again.

        Raises:
            ConfigError: it cannot be used.

        """
        config = load(self.path)
        return Setup(self.path, config, resolve(config, self.path))

    def configured(self) -> Rig:
        """Give the rig as the file has it, without what was corrected since."""
        return resolve(self.config, self.path)
