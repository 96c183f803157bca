"""What changes when a running rig reads its configuration again.

Only instruments may change while a visit goes on. What they belong to, the rig, the unit and the broker, needs a start
of the daemon: half a visit under another refrigerant would be two visits in one record.
"""

from collections.abc import Collection, Iterator
from dataclasses import dataclass

import msgspec

from ingest.config.structs import Config, InstrumentConfig
from ingest.rig import Rig


class ReloadError(Exception):
    """The configuration cannot be taken over; everything stays as it was."""


@dataclass(frozen=True, slots=True)
class Change:
    """Instruments by name; those that are not named stay as they are.

    restarted: reached in another way from now on. corrected: what they say is understood differently from now on.
    """

    added: tuple[str, ...]
    removed: tuple[str, ...]
    restarted: tuple[str, ...]
    corrected: tuple[str, ...]

    @property
    def stopped(self) -> tuple[str, ...]:
        """Those whose connection ends."""
        return self.removed + self.restarted

    def __str__(self) -> str:
        said = [
            f"{what} {', '.join(names)}"
            for what, names in (
                ("added", self.added),
                ("removed", self.removed),
                ("reconnected", self.restarted),
                ("corrected", self.corrected),
            )
            if names
        ]
        return f"instruments: {'; '.join(said)}" if said else "the configuration is as it was"


def compare(now: Config, wanted: Config, ended: Collection[str] = ()) -> Change:
    """Tell what it takes to get from one configuration to another. ended: instruments that gave up, to be tried again.

    Raises:
        ReloadError: something else than instruments differs.

    """
    fixed = list(_other_differences(now, wanted))
    if fixed:
        raise ReloadError(f"{', '.join(fixed)} cannot change while the daemon runs: stop and start it for that")
    before = {instrument.name: instrument for instrument in now.instruments}
    after = {instrument.name: instrument for instrument in wanted.instruments}
    both = [name for name in after if name in before]
    restarted = tuple(name for name in both if name in ended or not _share_a_link(before[name], after[name]))
    return Change(
        added=tuple(name for name in after if name not in before),
        removed=tuple(name for name in before if name not in after),
        restarted=restarted,
        corrected=tuple(name for name in both if name not in restarted and before[name] != after[name]),
    )


def touched_channels(before: Rig, after: Rig, change: Change) -> set[str]:
    """Name the channels that are measured differently from now on, or no longer, or anew."""
    setups = [{channel.name: channel for channel in rig.channels} for rig in (before, after)]
    differ = {name for name in setups[0].keys() | setups[1].keys() if setups[0].get(name) != setups[1].get(name)}
    return differ | {channel.name for channel in after.channels if channel.instrument in change.restarted}


def _share_a_link(before: InstrumentConfig, after: InstrumentConfig) -> bool:
    """Say whether a connection can go on: a Bluetooth instrument is also read at its interval."""
    return (before.link, before.interval) == (after.link, after.interval)


def _other_differences(now: Config, wanted: Config) -> Iterator[str]:
    for section in ("rig", "unit", "broker"):
        before, after = (msgspec.structs.asdict(getattr(config, section)) for config in (now, wanted))
        yield from (f"{section}.{key}" for key in before if before[key] != after[key])
