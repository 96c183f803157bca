"""The words that a person reads: names of channels, metering devices, links, qualities and marks.

Sentences stand in `dashboard.sentences`, which says why the page has tables of its own; here is a table a kind of name.
"""

from collections.abc import Sequence
from decimal import Decimal
from typing import Literal

from calc import wording
from calc.quantities import CHANNELS, Quantity
from calc.sentences import ENGLISH
from calc.units import System, difference_to_display, display_unit
from dashboard.sentences import say
from ingest.wire.messages import (
    Added,
    ChargeLeft,
    Checked,
    CheckFound,
    Chosen,
    Corrected,
    Correction,
    CylinderDescribed,
    Described,
    Finding,
    HandedOver,
    HoseSet,
    LeftAlone,
    Mark,
    PatternBegun,
    Placed,
    PowerRead,
    Recovered,
    Signed,
    Waiting,
    Warned,
    WhyLeft,
)
from ingest.wire.talk import StopStands

METERING_DEVICES = {"fixed_orifice": "Fixed orifice", "txv": "TXV", "eev": "EEV"}

TOLD = {
    "about": "its setup",
    "advice": "its advice",
    "visit": "the visit",
    "marks": "what was recorded",
    "checklist": "the checks",
    "frame": "its readings",
    "unit": "the unit",
    "units": "the register",
    "hands": "the hands at the bench",
}
"""What a rig tells a page, by the kind of message or of event; of what is not here, nothing older stands on a page."""

LINK_STATES = {
    "connecting": "Connecting",
    "connected": "Connected",
    "waiting": "Lost, trying again",
    "misconfigured": "Refused: check its settings",
}

QUALITIES = {
    "sensor_fault": "sensor fault",
    "malformed": "unreadable",
    "overload": "overload",
    "out_of_range": "out of range",
    "stale": "old",
    "held": "held",
    "elsewhere": "not of this circuit",
    "uncalibrated": "not calibrated",
    "ok": "",
}

_MARKS = {
    "reading": "Reading",
    "note": "Note",
    "acknowledge": "Read",
    "resume": "Goes on",
    "proposed": "Seen by the instruments",
    "dismissed": "Not so",
    "question": "Question",
    "reply": "Reply",
    "want": "Wanted",
    "hold": "Wants to be asked",
    "release": "Let go ahead",
    "stop": "Stop",
    "seen": "Stop seen",
    "photograph": "Photograph",
    "found_sound": "Baseline kept: what this unit reads when all is right",
    "baseline_withdrawn": "Baseline withdrawn",
}

PHASES = {"liquid": "liquid", "vapour": "vapour"}
"""As what refrigerant leaves a cylinder."""

BASELINE_ENDED = {
    "moved": "refrigerant was moved after it",
    "put_right": "something was put right after it",
    "left": "its charge was left as it was, against the advice",
    "instruments": "an instrument was found off at that visit",
    "newer": "a newer one of that visit took its place",
    "withdrawn": "withdrawn",
}
"""Why a baseline counts no more."""

WANTS = {"photograph": "a photograph", "reading": "a reading", "check": "a check"}
"""What a lead may want."""

BEFORE = {
    "first_move": "refrigerant first moves",
    "each_move": "refrigerant moves, each time",
    "power": "power comes back",
    "opening": "the circuit is opened",
}
"""Before what a lead may want to be asked."""

PURPOSES = {
    "adjust": "To adjust",
    "weigh_in": "By weight",
    "open": "To open it",
    "new_installation": "New installation",
    "retrofit": "Retrofit",
    "seasonal": "Seasonal",
    "scrap": "To scrap it",
}
"""What refrigerant is moved for."""

CYLINDER_USES = {"virgin": "To charge with", "recovery": "Recovered"}

SITUATIONS = {
    "stop": "Stop",
    "asked": "Asks you",
    "against": "Against advice",
    "refused": "Refused",
    "stuck": "Nothing recorded",
    "silent": "Silent",
    "concern": "Signed, with a concern",
    "soon": "Settles soon",
    "going": "At work",
    "over": "Signed",
}
"""How a rig stands for a lead who watches many."""

LEFT_FOR = {
    "near_enough": "Near enough by the plate",
    "none_today": "No more refrigerant today",
    "leak_first": "The leak comes first",
    "owner": "The owner decides",
    "other": "For another reason, as written",
}
"""Why a charge is left as it is, against the advice."""

WAITS_FOR = {
    "parts": "Parts",
    "owner": "The owner",
    "lead": "The lead",
    "weather": "The weather",
    "curing": "Something to cure",
    "settling": "The figures to settle",
    "other": "Something else",
}
"""What a visit waits for."""

OUTCOMES = {
    "met": "met",
    "not_met": "not met",
    "cannot_tell": "cannot tell",
    "skipped": "skipped",
    "unjudged": "not judged",
}
GRADES = {"measured": "measured", "typed": "typed", "seen": "seen in a photograph", "said": "said"}
"""Of a guided check, and of the evidence for it."""

ANSWERED = {"gone": "gone", "better": "better", "not": "not answered"}
JOINTS = (
    "Line lug at the contactor",
    "Load lug at the contactor",
    "Terminal of the compressor",
    "Contact",
    "Disconnect blade",
)
"""Where volts are measured across a joint most often: common practice, no source."""
LEFT = {"running": "left running", "concern": "left running with a concern", "off": "left off and locked"}
"""How a visit answered the complaint, and left the unit."""

PORTS = {"suction": "Suction", "liquid": "Liquid", "discharge": "Discharge"}
NORTHS = {"0": "Up", "90": "To the right", "180": "Down", "270": "To the left"}
"""Which way north is on the drawing of a roof [°, clockwise from its upper edge]."""

ON_A_PLATE = {
    "rated_current_a": "RLA or FLA",
    "locked_rotor_a": "LRA",
    "herm_f": "Herm",
    "fan_f": "Fan",
    "tolerance_share": "Tolerance ±",
    "volts": "Volts",
    "hertz": "Hertz",
    "coil_volts": "Coil volts",
}
"""What stands on the plate of a part, by its name in the sheet."""
PART_KINDS = {"motor": "motor", "capacitor": "run capacitor", "contactor": "contactor"}
MOTORS = {"compressor": "compressor", "condenser_fan": "condenser fan", "blower": "blower"}
"""A part of a unit that nobody named."""

KNOWN = {
    "read": "read in print",
    "from memory": "from memory",
    "common practice": "common practice, no source",
    "computed": "worked out",
}
"""How a rule of a guided check is known."""

SKIPPED = {
    "not_fitted": "Not fitted",
    "not_reachable": "Not reachable",
    "not_asked_for": "Not asked for",
    "weather": "Weather",
    "other": "Something else",
}
"""Why a check is skipped."""

AWAITED = {"first_forecast": "The first forecast", "verification": "A formal verification", "rest": "The check at rest"}

GLANCE = {
    "not running": "Not running",
    "starting": "Starting",
    "settling": "Wait",
    "look": "Look",
    "added": "Low",
    "recovered": "Too much",
    "near enough": "Near enough",
    "done": "Done",
    "stop": "Stop",
}
"""The state of a visit as it is read from three metres; of a charge that is moved it says how it stands."""

STEADINESS = {"settled": "Settled", "settling": "Settling", "not_steady": "Not steady", "unknown": ""}

_CHANNELS = {
    "suction_dew_point": "Dew point, suction",
    "liquid_bubble_point": "Bubble point, liquid",
    "suction_line_temperature": "Suction line",
    "liquid_line_temperature": "Liquid line",
    "discharge_line_temperature": "Discharge line",
    "return_air_temperature": "Return air",
    "return_air_wet_bulb": "Return air wet bulb",
    "return_air_humidity": "Return air humidity",
    "supply_air_temperature": "Supply air",
    "outdoor_air_temperature": "Outdoor air",
    "compressor_current": "Compressor",
    "condenser_fan_current": "Condenser fan",
    "blower_current": "Blower",
    "line_voltage_ab": "Line voltage L1–L2",
    "line_voltage_bc": "Line voltage L2–L3",
    "line_voltage_ca": "Line voltage L3–L1",
    "multimeter_ac_voltage": "Multimeter, volts AC",
    "multimeter_dc_voltage": "Multimeter, volts DC",
    "multimeter_resistance": "Multimeter, ohms",
    "multimeter_capacitance": "Multimeter, microfarad",
    "supply_air_flow": "Supply air flow",
    "refrigerant_in_air": "Refrigerant in the air",
}

PLACES = {
    "power": "Power and call",
    "panel": "Panel and lugs",
    "meter": "Meter",
    "clamp": "Clamp",
    "capacitor": "Capacitor",
    "probes": "Probes and clamps",
    "hoses": "Hoses",
    "cylinder": "Cylinder and scale",
    "recovery": "Recovery machine",
    "vacuum": "Vacuum pump",
    "nitrogen": "Nitrogen",
    "air": "Coil and filter",
    "arranged": "What an instructor arranges",
}
"""Where hands act at a simulated unit."""

DIAL = {
    "ac_voltage": "Volts AC, mV",
    "dc_voltage": "Volts DC",
    "resistance": "Ohms",
    "capacitance": "Microfarad",
    "insulation": "Megohms",
}

_PARTS = {
    "contactor_line": "Contactor, line side",
    "contactor_load": "Contactor, load side",
    "line": "Supply",
    "disconnect": "Disconnect",
    "compressor": "Compressor",
    "fan": "Condenser fan",
    "blower": "Blower",
    "capacitor": "Capacitor",
    "transformer": "Control transformer",
    "coil": "Contactor coil",
    "secondary": "Control circuit",
    "earth": "Ground (earth)",
}
LEGS = {"a": "L1", "b": "L2", "c": "L3"}
_ENDS = {**LEGS, "r": "R", "windings": "behind its protector", "switch": "behind its switch"}


def point(name: str) -> tuple[str, str]:
    """Name a point or a lug of a panel for people: its part, and which of that part's it is.

    >>> point("contactor_load_a"), point("compressor_common_wire"), point("earth")
    (('Contactor, load side', 'L1'), ('Compressor', 'common, the wire'), ('Ground (earth)', ''))
    """
    part = next(part for part in _PARTS if name == part or name.startswith(f"{part}_"))
    end = name[len(part) + 1 :]
    bare = end.removesuffix("_wire")
    told = _ENDS.get(bare, bare.replace("_", " "))
    return _PARTS[part], told if bare == end else f"{told}, the wire"


def point_in_full(name: str) -> str:
    """Name it in one go.

    >>> point_in_full("contactor_load_a"), point_in_full("earth")
    ('Contactor, load side L1', 'Ground (earth)')
    """
    return " ".join(filter(None, point(name)))


def channel(name: str) -> str:
    """Name a channel or a figure for people.

    >>> channel("suction_pressure"), channel("line_voltage_ab")
    ('Suction pressure', 'Line voltage L1–L2')
    """
    return _CHANNELS.get(name) or name.replace("_", " ").capitalize()


def grades(found: Finding) -> str:
    """Say how each figure of a finding is known; empty where all of them are known alike.

    >>> grades(Finding("f1", 0.0, check="supply", grade="typed", outcome="met", grades={"rest.a_b": "measured"}))
    ''
    """
    alike = {grade: [name for name, its in found.grades.items() if its == grade] for grade in GRADES}
    told = [f"{said}: {_figures(alike[grade])}" for grade, said in GRADES.items() if alike[grade]]
    return f"({'; '.join(told)})" if len(told) > 1 else ""


def _figures(names: Sequence[str]) -> str:
    return ", ".join(name.replace(".", " ").replace("_", " ") for name in names)


def mark(event: Mark, system: System) -> str:
    """Word a mark so that it fits a flag on the chart."""
    match event:
        case Added() | Recovered() | Correction() | CylinderDescribed() | Warned():
            return _of_moves(event, system)
        case Checked():
            return say("mark.checked", what=channel(event.check.channel))
        case Corrected():
            return say("mark.corrected", what=channel(event.calibration.channel))
    said = event.text or event.kind.replace("_", " ")
    return _of_the_visit(event) or _MARKS.get(event.kind, said[:1].upper() + said[1:])


def left_for(reason: WhyLeft, text: str) -> str:
    """Say why a charge was left, with what was written of it.

    >>> left_for("leak_first", ""), left_for("owner", "Asked at noon."), left_for("other", "No cylinder on the roof.")
    ('The leak comes first', 'The owner decides: Asked at noon.', 'No cylinder on the roof.')
    """
    return text if reason == "other" else f"{LEFT_FOR[reason]}: {text}" if text else LEFT_FOR[reason]


def stop(it: StopStands) -> str:
    """Word a stop as it is shown: one that the disk refuses is shown all the same, and says so."""
    return it.text if it.saved else f"{it.text} {say('talk.stop_unsaved')}"


def stop_course(it: StopStands) -> str:
    """Say how far a stop has come, for which no lead has said go on."""
    if it.acknowledged_s is not None:
        return say("talk.stop_acknowledged", by=it.acknowledged_by)
    return say("talk.stop_seen", by=it.seen_by) if it.seen_s is not None else say("talk.stop_delivered")


_TITLES = {
    "complaint": "Complaint and history",
    "which_unit": "Which unit, which circuit",
    "isolate": "Isolate and lock",
    "wiring_photograph": "Photograph of the wiring",
    "capacitor_measured": "Capacitor, measured, leads off, each section",
    "conductor": "Conductor and terminal",
    "cause": "Why did it fail?",
    "close_panel": "Close the electrical side",
    "power_back": "Power back, and a call",
    "supply": "Supply under load",
    "motor_amps": "Amps of each motor",
    "joint_drop": "Drop across a joint",
    "contactor_live": "Contactor, called and under load",
    "air": "Air before charge",
    "moving": "Moving refrigerant",
    "leaks": "Leak evidence",
    "opened": "If it was opened",
    "looked_for": "What the readings point at",
    "as_it_was": "As it was, and working",
}
"""Titles of guided checks that are not their words; a test holds them to the checks."""


def check(word: str) -> str:
    """Name a guided check by its title, as the Visit page and a report do, also where no list of them was heard.

    >>> check("joint_drop"), check("prove_dead")
    ('Drop across a joint', 'Prove dead')
    """
    return _TITLES.get(word, word.replace("_", " ").capitalize())


def _of_the_visit(event: Mark) -> str:
    """Word what was done about the visit itself; empty for any other mark."""
    match event:
        case Finding():
            return say("mark.finding", check=check(event.check), outcome=OUTCOMES[event.outcome])
        case Placed():
            what = channel(event.channels[0]) if len(event.channels) == 1 else say("mark.probes")
            return say("mark.placed", what=what, where=event.on) if event.on else say("mark.taken_off", what=what)
        case HoseSet():
            return say("mark.hose_on" if event.on else "mark.hose_off", port=event.port)
    return _course(event)


def _course(event: Mark) -> str:
    """Word a mark of how the visit goes."""
    match event:
        case Waiting():
            return say("mark.waits", reason=event.text or WAITS_FOR.get(event.reason, event.reason).lower())
        case ChargeLeft():
            return say("mark.charge_left", why=left_for(event.reason, event.text))
        case HandedOver():
            return say("mark.handed_over", name=event.to)
        case Signed():
            return say("mark.signed", name=event.name)
        case PatternBegun():
            return say("mark.pattern", count=len(event.times_s))
        case Chosen():
            return say("mark.chosen", tag=event.tag) if event.tag else say("mark.none_chosen")
        case Described():
            return say("mark.described", tag=event.sheet.tag)
        case LeftAlone():
            return say("mark.left_alone", hours=str(round(event.idle_s / 3600.0)))
        case PowerRead():
            return say("mark.power_read", what=channel(event.channel), value=_of_power(event))
    return ""


def _of_power(event: PowerRead) -> str:
    """Write what showed power: volts, else amps."""
    is_volts = CHANNELS.get(event.channel) is Quantity.VOLTAGE
    return f"{event.value:.0f} V" if is_volts else f"{event.value:.1f} A"


def _of_moves(event: Added | Recovered | Correction | CylinderDescribed | Warned, system: System) -> str:
    """Word what has to do with refrigerant that moves."""
    match event:
        case Added() | Recovered():
            sign = "+" if isinstance(event, Added) else "−"
            return f"{sign}{wording.mass(event.mass_kg, system, weighed=True)} {event.phase}".rstrip()
        case Correction():
            was = wording.mass(event.mass_kg or 0.0, system, weighed=True)
            return say("mark.was", mass=was) if event.mass_kg else say("mark.withdrawn")
        case CylinderDescribed():
            return say("mark.cylinder", name=event.name, refrigerant=event.refrigerant or say("mark.empty"))
        case Warned():
            return say("mark.warned", name=event.whom)


def watching(names: Sequence[str]) -> str:
    """Say who watches from elsewhere.

    >>> watching([]), watching(["Robin"]), watching(["Kim", "Robin"]), watching(["Ann", "Kim", "Robin"])
    ('', 'Robin watches', 'Kim and Robin watch', 'Ann and 2 others watch')
    """
    named = [name or say("watching.unnamed") for name in names]
    if len(named) > 2:
        named = [named[0], say("watching.others", count=len(named) - 1)]
    all_of_them = say("watching.and").join(named)
    if len(named) == 1:
        return say("watching.one", names=all_of_them)
    return say("watching.several", names=all_of_them) if named else ""


def watchers(opened: Sequence[str], among: Sequence[str]) -> str:
    """Say who watches a rig. opened: who has it open; among: who has it in view among others.

    >>> watchers(["Robin"], []), watchers([], ["Kim"]), watchers(["Robin"], ["Kim"])
    ('Robin watches', 'Kim watches among other rigs', 'Robin watches, and Kim watches among other rigs')
    """
    said = [watching(opened)] if opened else []
    said += [say("watching.among", who=watching(among))] if among else []
    return say("watching.both").join(said)


def duration_ahead(seconds: float) -> str:
    """Word a time to wait, no finer than a forecast deserves.

    >>> duration_ahead(25), duration_ahead(225), duration_ahead(3)
    ('in 30 s', 'in 4 min', 'shortly')
    """
    unit, count = wording.time_ahead(seconds)
    return ENGLISH.sentences[f"ahead.{unit}"].format(number=count)


def check_found(found: CheckFound, system: System) -> list[str]:
    """Word what a check found, with its figures, and what follows."""
    of = channel(found.channel)
    offset, unit = difference_to_display(found.offset, CHANNELS[found.channel], system)
    beside = display_unit(found.offset, CHANNELS[found.channel], system)
    half_width, _ = difference_to_display(
        2 * found.offset_standard_uncertainty, CHANNELS[found.channel], system, unit=beside
    )
    spread = _two_figures(half_width)
    off = f"{_as_fine_as(spread, abs(offset))}\u00a0{unit}"
    if found.other:
        side = say("check.higher_than" if offset > 0 else "check.lower_than", other=channel(found.other))
    else:
        side = say("check.higher" if offset > 0 else "check.lower")
    reads = say("check.reads", what=of, offset=off, side=side, spread=f"{spread}\u00a0{unit}")
    return [reads, _verdict(found.verdict), _consequence(found, system)]


def _verdict(verdict: Literal["within", "out", "cannot_tell"]) -> str:
    match verdict:
        case "within":
            return say("check.within")
        case "out":
            return say("check.out")
        case "cannot_tell":
            return say("check.cannot_tell")


def _consequence(found: CheckFound, system: System) -> str:
    left = found.corrected_standard_uncertainty
    if left is None and found.verdict == "out":
        return say("check.replace")
    if left is None:
        return say("check.stays")
    then, so_far = (f"±\u00a0{_spread(2 * each, found.channel, system)}" for each in (left, found.standard_uncertainty))
    return say("check.can_be_corrected", then=then, so_far=so_far)


def _spread(value: float, name: str, system: System) -> str:
    number, unit = difference_to_display(value, CHANNELS[name], system)
    return f"{_two_figures(number)}\u00a0{unit}"


def _two_figures(number: float) -> str:
    """Write a number to two figures, and never with a power of ten: nobody reads 1.2e+02 on a roof."""
    return f"{Decimal(f'{number:.1e}'):f}" if number else "0"


def _as_fine_as(spread: str, number: float) -> str:
    """Write a number to the last figure of its ±, so that what is shown lies within that of what was found.

    >>> _as_fine_as("0.11", 115.634), _as_fine_as("1.4", 4.137), _as_fine_as("120", 813.581)
    ('115.63', '4.1', '810')
    """
    last = Decimal(spread).adjusted() - 1
    return f"{Decimal(number).quantize(Decimal((0, (1,), last))):f}" if last < 0 else f"{round(number, -last):.0f}"
