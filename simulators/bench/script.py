"""A visit from a file: what hands do at the bench and what the technician asks of the rig, each at its time.

Times are the unit's own, from the bench's start. Amounts are written with their units, under the name that the message
has without its suffix: `pressure = "150 psig"`, `mass = "6 oz"`, `open = "50 %"`.
"""

import re
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from types import MappingProxyType
from typing import get_args

import msgspec

from calc import units
from calc.errors import CalcError
from calc.quantities import Quantity
from ingest.wire.asks import ANY_ASK
from ingest.wire.bench_acts import ANY_ACT, PLACES, Act, BlockMotor, SetSupply
from ingest.wire.messages import Ask, MessageError, encode_ask
from ingest.wire.texts import LONGEST_NAME, fault, is_empty
from simulators.bench.panel_hands import PanelHands
from simulators.bench.scenario import Scenario, load_scenario
from simulators.errors import SimulatorError
from simulators.unit.electric.at_the_panel import AtThePanel
from simulators.unit.electric.electrics import Electrics

Value = str | int | float | bool | list[str] | dict[str, str | float]
Given = dict[str, Value]
"""One step as the file has it."""

QUANTITIES: Mapping[str, units.Kind] = MappingProxyType(
    {
        "_kg": Quantity.MASS,
        "_pa": Quantity.PRESSURE,
        "_ratio": Quantity.RATIO,
        "_ohm": Quantity.RESISTANCE,
        "_f": Quantity.CAPACITANCE,
        "_s": "time",
    }
)
"""By the end of a field's name what a text in its place is read as."""


AT_THE_PANEL: tuple[type[Act], ...] = (
    SetSupply,
    BlockMotor,
    *PLACES["panel"].acts,
    *PLACES["meter"].acts,
    *PLACES["clamp"].acts,
    *PLACES["capacitor"].acts,
)
"""What is tried before a script is played."""

_HEAD = re.compile(rb"\s*\[\[\s*step\s*\]\]")


class ScriptError(SimulatorError):
    """A script that cannot be played: which file, which step, what was there."""


@dataclass(frozen=True, slots=True)
class ScriptStep:
    """One step, at a time of the unit's [s]: an act, or what is asked of the rig. says: what to tell who watches."""

    at_s: float
    does: Act | Ask
    says: str


@dataclass(frozen=True, slots=True)
class Script:
    """A whole visit. scenario: what stands on the bench for it. ends: when the bench stops by itself [s], or never."""

    title: str
    scenario: Scenario
    steps: Sequence[ScriptStep]
    ends_s: float | None

    def due(self, after_s: float, until_s: float) -> Iterator[ScriptStep]:
        """Give the steps of this stretch of time, in their order; what is due at its end comes next."""
        return (step for step in self.steps if after_s <= step.at_s < until_s)


class _File(msgspec.Struct, forbid_unknown_fields=True, kw_only=True):
    title: str
    scenario: str
    by: str = "technician"
    ends: str | None = None
    step: list[Given] = []


def load_script(path: Path) -> Script:
    """Read a script, and try at a panel what it does there: nothing is then live, but everything has its name.

    Raises:
        ScriptError: it cannot be played; the first mistake, with the line and the number of its step.

    """
    if path.exists() and not path.is_file():
        raise ScriptError(f"{path} is a folder, a pipe or a device; a file was expected")
    try:
        text = path.read_bytes()
        file = msgspec.toml.decode(text, type=_File)
    except (OSError, UnicodeDecodeError, msgspec.MsgspecError) as error:
        raise ScriptError(f"{path}: {error}") from error
    own = file.scenario.endswith(".toml")
    scenario = load_scenario(str(path.parent / file.scenario) if own else file.scenario)
    if wrong := "is empty" if is_empty(file.by) else fault(file.by, LONGEST_NAME):
        raise ScriptError(f"{path}: by {wrong}; the name of who asks was expected")
    read = _Reader(scenario.parameters.conditions.barometric_pressure_pa, file.by)
    panel = PanelHands(AtThePanel(Electrics(scenario.parameters)))
    steps = []
    for number, given in enumerate(file.step, 1):
        try:
            step = read.step(given, f"script-{number}")
            if isinstance(step.does, AT_THE_PANEL):
                panel.rehearse(step.does)
        except (CalcError, MessageError, SimulatorError, msgspec.MsgspecError) as error:
            raise ScriptError(f"{path}: {_where(text, number, len(file.step))}: {error}") from error
        steps.append(step)
    if sorted(steps, key=lambda step: step.at_s) != steps:
        raise ScriptError(f"{path}: the steps stand in another order than their times")
    try:
        ends_s = None if file.ends is None else units.parse(file.ends, "time")
    except CalcError as error:
        raise ScriptError(f"{path}: ends: {error}") from error
    if ends_s is not None and ends_s <= max((step.at_s for step in steps), default=0.0):
        raise ScriptError(f"{path}: ends = {file.ends!r} comes before the last step is done: end it later")
    return Script(file.title, scenario, steps, ends_s)


def _where(text: bytes, number: int, steps: int) -> str:
    """Tell the line on which a step begins, if each begins with a head of its own."""
    heads = [line for line, words in enumerate(text.splitlines(), 1) if _HEAD.match(words)]
    return f"line {heads[number - 1]}, step {number}" if len(heads) == steps else f"step {number}"


@dataclass(frozen=True, slots=True)
class _Reader:
    """Reads steps: gauge pressures count from the barometer, and who asks is one person."""

    barometric_pressure_pa: float
    by: str

    def step(self, given: Given, name: str) -> ScriptStep:
        """Read one step. name: by which the rig knows it, if it is an ask."""
        fields = {key: value for key, value in given.items() if key not in ("at", "says")}
        at_s = units.parse(str(given.get("at", "")), "time")
        if at_s < 0.0:
            raise MessageError(f"at = {given['at']!r} is before the start")
        says = msgspec.convert(given.get("says", ""), type=str)
        if "ask" not in fields:
            return ScriptStep(at_s, msgspec.convert(self._in_si(fields, ANY_ACT), type=ANY_ACT), says)
        kind = fields.pop("ask")
        read = self._in_si(fields, ANY_ASK)
        ask = msgspec.convert({**read, "kind": kind, "id": name, "by": self.by}, type=ANY_ASK)
        if strange := read.keys() - ask.__struct_fields__ | read.keys() & {"kind", "id", "by"}:
            raise MessageError(f"{', '.join(sorted(strange))} cannot be given with ask = {kind!r}")
        encode_ask(ask)  # which refuses what nobody could read
        return ScriptStep(at_s, ask, says)

    def _in_si(self, fields: Given, kind: type[Act] | type[Ask]) -> Given:
        """Put a number in SI, under its name with the unit, in the place of every text that stands for one."""
        known = {field.name for choice in get_args(kind) for field in msgspec.structs.fields(choice)}
        read: Given = {}
        for name, value in fields.items():
            suffix = next((end for end in QUANTITIES if name + end in known), None)
            if suffix is not None and name + suffix in fields:
                raise MessageError(f"{name} and {name + suffix} say the same; give one of them")
            if suffix is not None and isinstance(value, str):
                read[name + suffix] = self._number(value, suffix)
            elif suffix is not None and isinstance(value, dict):
                read[name + suffix] = {key: self._number(str(text), suffix) for key, text in value.items()}
            else:
                read[name] = value
        return read

    def _number(self, text: str, suffix: str) -> float:
        return units.parse(text, QUANTITIES[suffix], barometric_pressure_pa=self.barometric_pressure_pa)
