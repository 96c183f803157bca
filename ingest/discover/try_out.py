"""Trying a configuration out: reach every instrument at once, and say of each channel what came.

All instruments go on until the last has spoken or the time is up: on the job they share the radio and the machine too.
"""

import asyncio
from collections.abc import Callable, Sequence
from dataclasses import dataclass, field

from ingest.channels import Channels, as_configured
from ingest.clock import Clock
from ingest.config.structs import Config, InstrumentConfig
from ingest.frames import Decode, Delivered, Frame, FrameError, LinkError, LinkSetupError, Notice, Value
from ingest.kinds.kind import Around
from ingest.kinds.table import kind_of
from ingest.link.bluetooth_scan import SharedScan
from ingest.rig import ChannelSetup, InstrumentSetup, Rig
from ingest.wire.messages import Reading

_INDENT = "    "


@dataclass(slots=True)
class Trial:
    """What came of one instrument. error: why its link ended. values: the newest of every field, in its own unit.

    problems: by part, what its link says is wrong.
    """

    setup: InstrumentSetup
    error: str = ""
    is_connected: bool = False
    values: dict[str, Value] = field(default_factory=dict)
    refused: int = 0
    last_refusal: str = ""
    problems: dict[str, str] = field(default_factory=dict)
    readings: dict[str, Reading] = field(default_factory=dict)

    @property
    def is_complete(self) -> bool:
        """Whether every channel has had its field."""
        return all(channel.field in self.values for channel in self.setup.channels)

    @property
    def is_good(self) -> bool:
        """Whether every channel gives a number."""
        readings = self.readings.values()
        return not self.error and self.is_complete and all(reading.value is not None for reading in readings)


async def try_out(config: Config, rig: Rig, *, within_s: float) -> list[Trial]:
    """Run every instrument until each has given all its channels, has failed, or the time is up [s]."""
    clock = Clock()
    channels = Channels(rig, clock.time_s)
    trials = [Trial(setup) for setup in rig.instruments]
    progress = asyncio.Event()
    around = Around(SharedScan())
    async with asyncio.TaskGroup() as group:
        tasks = [
            group.create_task(_run(instrument, trial, around, channels, progress.set))
            for instrument, trial in zip(config.instruments, trials, strict=True)
        ]
        await _until_over(trials, progress, within_s)
        readings = channels.readings(clock.now())
        for task in tasks:
            task.cancel()
    for trial in trials:
        trial.readings = {channel.name: readings[channel.name] for channel in trial.setup.channels}
    return trials


async def _until_over(trials: Sequence[Trial], progress: asyncio.Event, within_s: float) -> None:
    try:
        async with asyncio.timeout(within_s):
            while not all(trial.error or trial.is_complete for trial in trials):
                progress.clear()
                await progress.wait()
    except TimeoutError:
        for trial in trials:
            if not trial.error and not trial.values:
                trial.error = _silence(trial, within_s)


async def _run(
    instrument: InstrumentConfig, trial: Trial, around: Around, channels: Channels, tell: Callable[[], None]
) -> None:
    def connected() -> None:
        trial.is_connected = True

    try:
        link, decode = kind_of(instrument.link).build(instrument.link, trial.setup.interval_s, around)

        def deliver(delivered: Delivered) -> None:
            if isinstance(delivered, Notice):
                trial.problems[delivered.part] = delivered.problem
            else:
                _take(delivered, decode, trial, channels)
            tell()

        await link.run(deliver, connected)
        trial.error = "the link ended"
    except (LinkError, LinkSetupError) as error:
        trial.error = str(error)
    tell()


def _take(frame: Frame, decode: Decode, trial: Trial, channels: Channels) -> None:
    try:
        values = decode(frame)
    except FrameError as error:
        trial.refused += 1
        trial.last_refusal = str(error)
        return
    trial.values.update(values)
    channels.accept(trial.setup.name, frame.stamp, values)


def _silence(trial: Trial, within_s: float) -> str:
    problems = [problem for problem in trial.problems.values() if problem]
    if problems:
        return f"nothing in {within_s:g} s: {problems[0]}"
    if trial.refused:
        return f"nothing that can be read in {within_s:g} s; {_refusals(trial)}"
    if trial.is_connected:
        return f"connected, but nothing came in {within_s:g} s; is it on, and are its settings right?"
    return f"no connection within {within_s:g} s"


def _refusals(trial: Trial) -> str:
    return f"{trial.refused} frames were refused, the last because of: {trial.last_refusal}"


def as_tree(rig: str, trials: Sequence[Trial]) -> str:
    """Write what came of all instruments, one under the other."""
    bad = sum(not trial.is_good for trial in trials)
    total = f"{len(trials)} instrument{'s'[: len(trials) != 1]}"
    lines = [f"{rig}: {bad} of {total} cannot be relied on" if bad else f"{rig}: {total}, every channel is read"]
    for trial in trials:
        lines += [f"{_INDENT}{trial.setup.name}", *(f"{_INDENT * 2}{line}" for line in _branch(trial))]
    return "\n".join(lines)


def _branch(trial: Trial) -> list[str]:
    if trial.error and not trial.values:
        return [trial.error]
    lines = [_channel(channel, trial) for channel in trial.setup.channels]
    lines += [problem for problem in trial.problems.values() if problem]
    if trial.error:
        lines.append(trial.error)
    elif trial.refused:
        lines.append(_refusals(trial))
    return lines


def _channel(channel: ChannelSetup, trial: Trial) -> str:
    if channel.field not in trial.values:
        return f'{channel.name}: nothing under "{channel.field}"; it sends {", ".join(trial.values)}'
    reading, value = trial.readings[channel.name], as_configured(channel, trial.values[channel.field])
    if reading.value is None or not isinstance(value, float):
        return f"{channel.name}: {reading.quality}: {reading.reason}"
    unit = f"{channel.unit} {channel.reference}".strip()
    corrected = channel.slope * value + channel.offset
    accuracy = channel.accuracy / channel.conversion.factor
    return f"{channel.name}: {corrected:.6g} {unit} ± {accuracy:.3g} {channel.unit}, {reading.quality}"
