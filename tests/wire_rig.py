"""A rig that exists only on the wire: it publishes what a daemon would, from figures written down here.

The unit, its place and its figures are invented. Values are in the house's units.
"""

import asyncio
import math
import time
from collections.abc import AsyncIterator, Callable, Mapping, Sequence
from contextlib import asynccontextmanager
from functools import partial
from typing import Any

import aiomqtt
import msgspec

from ingest.photographs import Parts
from ingest.sending import publish
from ingest.visit.checklist import checklists
from ingest.visit.deciding import DoubtfulError, Facts, Head, RefusedError, decided
from ingest.visit.decisions import DECISIONS
from ingest.visit.photographs import Picture, photograph
from ingest.visit.standing import Standing
from ingest.wire.asks import MAY_ASK
from ingest.wire.events import Confirmable
from ingest.wire.messages import (
    About,
    AcknowledgeAsk,
    Acknowledged,
    Added,
    AddedAsk,
    Advice,
    AlarmMessage,
    Answer,
    Ask,
    AwaitedMessage,
    Calibration,
    CauseMessage,
    ChannelAbout,
    CheckAsk,
    Checked,
    CheckFound,
    ConditionMessage,
    CorrectAsk,
    Corrected,
    Correction,
    CorrectionAsk,
    EvidenceMessage,
    Forecast,
    InstrumentAbout,
    Line,
    Mark,
    MoveAsk,
    Note,
    NoteAsk,
    Pack,
    Photograph,
    PhotographAsk,
    Reading,
    ReadingAsk,
    ReadingTaken,
    Recovered,
    RecoveredAsk,
    ReloadAsk,
    Reloaded,
    Status,
    Steadiness,
    StopAsk,
    UnitAbout,
    VerificationMessage,
    Wording,
    decode_ask,
    encode,
    encode_pack,
    topic,
)
from ingest.wire.roles import WHERE_NOBODY_IS_NAMED, role_of

RIG = "bench"
BAROMETRIC_PRESSURE_PA = 101_325.0
PSI = 6894.757
INSTRUMENTS = {
    "low side probe": ("serial_lines", ("suction_pressure", "suction_line_temperature")),
    "high side probe": ("serial_lines", ("liquid_pressure", "liquid_line_temperature")),
    "clamp meter": ("scpi", ("compressor_current", "condenser_fan_current", "line_voltage_ab")),
    "air probe": (
        "bluetooth",
        ("return_air_temperature", "supply_air_temperature", "outdoor_air_temperature", "return_air_humidity"),
    ),
}
UNCERTAINTIES = {
    "suction_pressure": 0.5 * PSI,
    "liquid_pressure": 1.5 * PSI,
    "suction_line_temperature": 0.25,
    "liquid_line_temperature": 0.25,
    "suction_dew_point": 0.16,
    "liquid_bubble_point": 0.2,
    "superheat": 0.29,
    "subcooling": 0.25,
    "return_air_temperature": 0.15,
    "supply_air_temperature": 0.15,
    "outdoor_air_temperature": 0.15,
    "return_air_humidity": 1.0,
    "compressor_current": 0.06,
    "condenser_fan_current": 0.03,
    "line_voltage_ab": 0.7,
}


def fahrenheit(degrees: float) -> float:
    """A temperature on the Fahrenheit scale [K]."""
    return (degrees - 32) / 1.8 + 273.15


def psig(pressure: float) -> float:
    """A gauge pressure in psi [Pa absolute]."""
    return pressure * PSI + BAROMETRIC_PRESSURE_PA


def values(superheat_df: float = 18.3, subcooling_df: float = 6.8) -> dict[str, float]:
    """One moment at the unit, with superheat and subcooling as given [differences in °F]."""
    return {
        "suction_pressure": psig(118.2),
        "liquid_pressure": psig(345.4),
        "suction_line_temperature": fahrenheit(39.8 + superheat_df),
        "liquid_line_temperature": fahrenheit(105.4 - subcooling_df),
        "compressor_current": 7.6,
        "condenser_fan_current": 1.9,
        "line_voltage_ab": 236.0,
        "return_air_temperature": fahrenheit(75.2),
        "supply_air_temperature": fahrenheit(57.8),
        "outdoor_air_temperature": fahrenheit(86.4),
        "return_air_humidity": 51.0,
        "suction_dew_point": fahrenheit(39.8),
        "liquid_bubble_point": fahrenheit(105.4),
        "superheat": superheat_df / 1.8,
        "subcooling": subcooling_df / 1.8,
        "air_split": 17.4 / 1.8,
        "condensing_over_ambient": 19.0 / 1.8,
        "compressor_load_ratio": 7.6 / 12.0,
        "condenser_fan_load_ratio": 1.9 / 2.0,
    }


def pack(
    sequence: int | None,
    known: Mapping[str, float | None],
    *,
    time_s: float,
    session: int = 1,
    old: Mapping[str, float] = {},
    unsaved: int = 0,
    rig: str = RIG,
) -> Pack:
    """A pack with these values; `old` tells which are stale, and for how long [s]."""
    readings = {
        name: Reading(
            value,
            time_s - old.get(name, 0.1),
            "stale" if name in old else "sensor_fault" if value is None else "ok",
            "no sensor" if value is None else "",
            UNCERTAINTIES.get(name),
        )
        for name, value in known.items()
    }
    return Pack(rig, sequence, session, 0, round(time_s % 1e6, 3), time_s, readings, unsaved)


def unit(**changes: object) -> UnitAbout:
    """The invented unit, as its nameplate says."""
    known = UnitAbout(
        tag="RTU-K7Q-4",
        place="Harbour Street library, roof, north row",
        refrigerant="R-410A",
        safety_class="A1",
        metering_device="txv",
        charge_as_liquid=True,
        target_subcooling_dk=10 / 1.8,
        nameplate_charge_kg=3.4,
        compressor_rla_a=12.0,
        condenser_fan_fla_a=2.0,
    )
    return msgspec.structs.replace(known, **changes)


def about(*, started_s: float, lost: Sequence[str] = (), marks: Sequence[Mark] = (), **changes: object) -> About:
    """What the rig says of itself; `lost` names the instruments whose link is down."""
    known = About(
        rig=RIG,
        boot="b1",
        session=1,
        started_s=started_s,
        visit="visit-1",
        visit_started_s=started_s,
        unit=unit(),
        barometric_pressure_pa=BAROMETRIC_PRESSURE_PA,
        channels=[
            ChannelAbout(name, instrument, "", 2 * UNCERTAINTIES[name])
            for instrument, (_, names) in INSTRUMENTS.items()
            for name in names
        ],
        instruments=[
            InstrumentAbout(name, kind, "waiting", started_s, "the port is gone")
            if name in lost
            else InstrumentAbout(name, kind, "connected", started_s)
            for name, (kind, _) in INSTRUMENTS.items()
        ],
        marks=marks,
        simulated=True,
    )
    return msgspec.structs.replace(known, **changes)


def said(text: str) -> Wording:
    """A sentence without figures."""
    return Wording(text, text)


def advice(*, time_s: float) -> Advice:
    """Advice as it stands while the unit settles after an addition."""
    return Advice(
        time_s=time_s,
        sentence=Wording("Wait. Still settling.", "Wait. Still settling."),
        details=[
            Wording(
                "Subcooling is heading for 8.9 ± 0.5 °F in 4 min.", "Subcooling is heading for 4.9 ± 0.3 K in 4 min."
            ),
            Wording(
                "Both pressures are low and superheat is high: low charge.",
                "Both pressures are low and superheat is high: low charge.",
            ),
            Wording(
                "The air split of 17.4 °F is normal, so airflow is not the cause.",
                "The air split of 9.7 K is normal, so airflow is not the cause.",
            ),
        ],
        cautions=["Liquid into suction: crack the valve and let it flash.", "Gloves and eye protection."],
        cautions_once=["Nameplate, maker, local codes and licensed practice come first."],
        steadiness={
            "superheat": Steadiness("settling", slope_dk_per_min=-0.2),
            "subcooling": Steadiness("settling", slope_dk_per_min=0.2, forecast=Forecast(8.9 / 1.8, 0.5 / 1.8, 225.0)),
        },
        state="settling",
        awaited=AwaitedMessage("subcooling", 225.0, 600.0),
    )


def same(text: str) -> Wording:
    """A sentence without figures, the same in both systems of units."""
    return Wording(text, text)


def opinion(*, time_s: float, first: float = 0.5) -> Advice:
    """Advice once it has settled: two causes, the likelier with this probability, open conditions, and an alarm."""
    low = EvidenceMessage(
        "subcooling", 2.3, Wording("4.4 °F, expected 10.0 ± 2.4 °F", "2.4 K, expected 5.6 ± 1.3 K"), "nameplate"
    )
    high = EvidenceMessage(
        "superheat", -0.9, Wording("18.3 °F, expected 12.0 ± 8.0 °F", "10.2 K, expected 6.7 ± 4.4 K"), "a manual"
    )
    held_back = said("First rule out low evaporator airflow: measure return air and supply air.")
    waited = said("6 of 15 min")
    leaks, along = said("Look for oil and leaks."), said("Feel along the liquid line.")
    met = Wording("Met.", "Met.", "condition.met")
    return msgspec.structs.replace(
        advice(time_s=time_s),
        state="stop",
        causes=[
            CauseMessage("undercharge", first, [], [low], [high], leaks, held_back),
            CauseMessage("liquid-line restriction", 0.9 - first, [], [high], [low], along),
        ],
        verification=VerificationMessage(
            "subcooling", "may not be judged", None, -3.1, 0.6,
            [
                ConditionMessage("settled", "met", met, said(""), "NIST SP 1087"),
                ConditionMessage(
                    "undisturbed_time", "not met", said("The charge was changed: wait."), waited, "California Title 24"
                ),
                ConditionMessage("air_split", "cannot tell", said("Not known."), said(""), "California Title 24"),
            ],
            said("Not yet: 2 of 3 conditions open."),
        ),
        alarms=[
            AlarmMessage("floodback", said("No superheat: stop adding."), Wording("0.2 °F", "0.1 K"), "common practice")
        ],
    )  # fmt: skip


def correctable(ask: CheckAsk) -> CheckFound:
    """A channel of ±1 psi or ±0.9 °F that reads 0.6 psi or 0.5 °F too high, and would be surer without."""
    kind, name = ask.check, ask.channel
    if name.endswith("pressure"):
        return CheckFound(kind, name, 0.6, 0.6 * PSI, 0.0, 0.6 * PSI, 0.1 * PSI, 0.5 * PSI, "within", 0.35 * PSI)
    return CheckFound(kind, name, 32.5, 273.43, 273.15, 0.5 / 1.8, 0.06, 0.25, "within", 0.19, ask.other)


def calibration(ask: CorrectAsk) -> Calibration:
    """What a daemon would make of such a check of the suction pressure."""
    before, after = Line(1.0, 0.0, 0.5 * PSI), Line(1.0, -0.6, 0.35 * PSI)
    return Calibration("suction_pressure", before, after, ask.checks)


class WireRig:
    """Publishes as a daemon does, and answers what the page asks. `asked` keeps the requests, `asked_as` as whom."""

    def __init__(self, client: aiomqtt.Client, name: str = RIG) -> None:
        self._client = client
        self.name = name
        self.asked: list[tuple[str, Ask]] = []
        self.asked_as: list[str] = []
        self.refuse_with = ""
        self.asks_back: Wording | None = None
        self.standing = Standing("v1")
        self.facts = Facts(unit(), {}, frozenset(), frozenset(), circuits=["1"])
        self.silent = False
        self.parts = Parts(time.monotonic, lambda _: None)
        self.pictures: dict[str, bytes] = {}
        self.check_finds: Callable[[CheckAsk], CheckFound] = correctable

    async def say(self, kind: str, message: msgspec.Struct, *, retain: bool = False) -> None:
        payload = encode_pack(message) if isinstance(message, Pack) else encode(message)
        await self.say_raw(kind, payload, retain=retain)

    async def say_raw(self, kind: str, payload: bytes, *, retain: bool = False) -> None:
        await publish(self._client, topic(self.name, kind), payload, retain=retain)

    async def arrive(self, known: About) -> None:
        """Come online with everything that is retained."""
        await self.say("status", Status("online", 1), retain=True)
        await self.say("about", known, retain=True)
        for mark in known.marks:
            self.standing.take(mark)
        await self.say("visit", self.standing.message(), retain=True)
        await self.say("advice", advice(time_s=time.time()), retain=True)

    async def tell_checks(self) -> None:
        """Retain the guided checks, as a daemon does."""
        for group in checklists():
            await self.say(f"checklist/{group.group.lower()}", group, retain=True)

    async def take(self, mark: Mark) -> None:
        """Record a mark, and tell how the visit then stands."""
        await self.say("marks", mark)
        self.standing.take(mark)
        await self.say("visit", self.standing.message(), retain=True)

    async def answer(self) -> None:
        """Answer requests until cancelled."""
        await self._client.subscribe(topic(self.name, "ask/+/+"), qos=1)
        async for message in self._client.messages:
            _, user, kind = str(message.topic).rsplit("/", 2)
            ask = decode_ask(bytes(message.payload))
            self.asked.append((kind, ask))
            self.asked_as.append(user)
            if not self.silent:
                await self._answer(user, ask)

    async def _answer(self, user: str, ask: Ask) -> None:
        where = f"answer/{user}/{ask.id}"
        if self.asks_back and isinstance(ask, Confirmable) and "asked.back" not in ask.confirms:
            await self.say(where, Answer(ask.id, ok=False, question=self.asks_back, asks=["asked.back"]))
            return
        if self.refuse_with:
            await self.say(where, Answer(ask.id, ok=False, reason=self.refuse_with, waits=isinstance(ask, StopAsk)))
            return
        role = role_of(user, WHERE_NOBODY_IS_NAMED)
        assert role is not None
        assert role in MAY_ASK[ask.kind]
        head = (ask.id, time.time(), ask.by, role)
        try:
            if isinstance(ask, PhotographAsk):
                mark = await self.parts.take(ask, self.standing.visit, partial(self._keep, ask, head))
                await self.say(where, Answer(ask.id, ok=True, mark=mark))
                return
            mark = self._mark(ask, head)
        except RefusedError as error:
            await self.say(where, Answer(ask.id, ok=False, reason=str(error), refusal=error.wording))
            return
        except DoubtfulError as error:
            await self.say(where, Answer(ask.id, ok=False, question=error.question, asks=error.names))
            return
        await self.take(mark)
        await self.say(where, Answer(ask.id, ok=True, mark=mark))

    async def _keep(self, ask: PhotographAsk, head: Head, picture: Picture) -> Photograph:
        """Keep a photograph that is whole, as a daemon does."""
        mark = photograph(ask, (ask.photograph, *head[1:]), picture)
        self.pictures[mark.id] = picture.jpeg
        await self.take(mark)
        return mark

    def _mark(self, ask: Ask, head: Head) -> Mark:
        """What a daemon would record; of an ask without a case of its own, as the daemon itself decides it."""
        match ask:
            case AddedAsk():
                return Added(*head, **_of_move(ask))
            case RecoveredAsk():
                return Recovered(*head, **_of_move(ask))
            case CorrectionAsk():
                return Correction(*head, of=ask.of, mass_kg=ask.mass_kg, circuit=ask.circuit, cylinder=ask.cylinder)
            case NoteAsk():
                return Note(*head, text=ask.text, at_s=ask.at_s)
            case AcknowledgeAsk():
                return Acknowledged(*head, of=ask.of)
            case CheckAsk():
                return Checked(*head, check=self.check_finds(ask))
            case CorrectAsk():
                return Corrected(*head, calibration=calibration(ask))
            case ReloadAsk():
                return Reloaded(*head)
            case ReadingAsk():
                return ReadingTaken(*head, want=ask.want)
        return self._decided(ask, head)

    def _decided(self, ask: Ask, head: Head) -> Mark:
        def decide(asked: Ask) -> Mark:
            return DECISIONS[type(ask)](asked, head, self.standing, self.facts)

        return decide(ask) if self.asks_back else decided(ask, decide)  # what it asked back was answered


def _of_move(ask: MoveAsk) -> dict[str, Any]:
    """All that was said of a move."""
    said = [name for name in MoveAsk.__struct_fields__ if name in Added.__struct_fields__ and name not in ("id", "by")]
    return {name: getattr(ask, name) for name in said}


@asynccontextmanager
async def wire_rig(port: int, name: str = RIG) -> AsyncIterator[WireRig]:
    """A rig connected to the broker on this port."""
    async with aiomqtt.Client("127.0.0.1", port, timeout=5) as client:
        rig = WireRig(client, name)
        answering = asyncio.create_task(rig.answer())
        try:
            yield rig
        finally:
            answering.cancel()
            await asyncio.wait({answering})


def settling(seconds: float, *, start: float, end: float, time_constant_s: float = 180.0) -> float:
    """A first-order approach, `seconds` after it began."""
    return end + (start - end) * math.exp(-max(0.0, seconds) / time_constant_s)
