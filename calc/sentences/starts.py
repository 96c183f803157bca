"""What the first seconds of a start say, and what to do about it, in English.

Five minutes between stop and start, two leads exchanged where a scroll turns backwards and one of a single phase that
does so after less than half a second without power: makers' manuals. The rest: common practice, no source.
"""

LOCKED_OUT = "Lock out, prove dead and discharge before a hand goes in"
"""What stands before every hand in the panel, in one voice wherever it is said."""

_EXCHANGE = (
    "exchange two of the compressor's leads at the load side of its contactor, its terminal cover left on; if that is "
    "no better, put them back: valves or scroll. Where three-phase fans run backwards too, leave its leads: whoever is "
    "licensed for the supply exchanges two there."
)
TURNED = f"Locked out, proved dead and discharged, {_EXCHANGE}"
"""What to do about a scroll that turns backwards. At the supply: common practice, no source."""

SENTENCES: dict[str, str] = {
    "start.no_supply": "No volts at the unit, which proves nothing dead: disconnect, breaker, fuses. "
    f"{LOCKED_OUT}. Only who put a lock on takes it off.",
    "start.no_call": "Nothing asks it to run, and the supply is there, so the panel is live: the thermostat first; ask "
    f"before you hunt. {LOCKED_OUT} to wires, control fuse and transformer.",
    "start.delay_timer": "Called, and held back {rested} s after the stop: the delay timer, most likely. Compressors "
    "need 5 min between stop and start (makers): wait {left} s more. Do not bridge it.",
    "start.high_cut_out": "The high-pressure cut-out holds it, most likely: it stopped at {found}. Find out why before "
    "it is reset: outdoor fan, coil, air or too much in it. Never bridge it.",
    "start.low_cut_out": "The low-pressure cut-out holds it, most likely, at {found}. Find out why before it is reset: "
    "little left in it, a restriction, ice, no air indoors. Never bridge it.",
    "start.leak_detector": "The leak detector is in alarm: it stops the compressor and runs the blower. Ventilate; no "
    "flame, no spark, no switch. Measure the air before a panel is opened. Never bypass it.",
    "start.stalled": "Switch it off: it does not come up to speed, {amps} for {lasted} s, and the pressures do not "
    f"part. {LOCKED_OUT}: run capacitor, where it has one, start gear, windings, also to the case. Only where those "
    "are sound, cooled, and with leads placed while it is dead, let it try once more and read its volts.",
    "start.weak_capacitor": "Up to speed in {lasted} s, and {amps} before it has much to do, at sound volts and from "
    f"equal pressures: its run capacitor is weak, most likely. {LOCKED_OUT}; measure it with its leads off, against "
    "its label.",
    "start.fan": "The compressor runs; the condenser fan draws {amps}, more than its plate: its run capacitor, most "
    f"likely, else bearings, blades or motor. Watch the head, and switch off if it climbs. {LOCKED_OUT}; measure the "
    "fan's section against its label.",
    "start.lost_phase": "{Phase} is missing. Switch it off at the disconnect, from its side, face away: it burns out. "
    f"{LOCKED_OUT}; fuses, breaker, poles of the contactor, lugs; the utility, if it is missing there.",
    "start.backwards": "It runs on {amps}, far less than its plate, and the pressures do not part: it turns backwards, "
    f"most likely, or pumps nothing. Switch it off now. {TURNED}",
    "start.backwards_if_three": "It runs on {amps}, far less than its plate, and the pressures do not part: it turns "
    "backwards, most likely, or pumps nothing. Switch it off now. Locked out, proved dead and discharged, see how many "
    f"leads feed it. Three: {_EXCHANGE} "
    "Two: a scroll may turn backwards after a blink of the power, and starts well again after a rest (a maker); else "
    "valves or scroll.",
    "start.started": "Started well: once, up to speed within {lasted} s, and the pressures part.",
    "start.started_unseen": "Started well, as far as {amps} and pressures that part tell; the record is too slow for "
    "the inrush.",
    "start.fan_unseen": "The compressor started well, and the pressures part. Of the condenser fan nothing is known: "
    "look whether it turns.",
    "start.cannot_tell": "Cannot be told from these. What would tell: {tells}.",
    "start.switch_off": "It does not come up to speed ({amps}): switch it off. Why, cannot be told from these. What "
    "would tell: {tells}.",
}

TERMS: dict[str, str] = {
    "tell.compressor_amps": "amps of the compressor",
    "tell.blower_amps": "amps of the blower",
    "tell.fan_amps": "amps of the condenser fan",
    "tell.all_phases": "amps of all three phases",
    "tell.volts": "volts of every pair at the contactor",
    "tell.phases": "how many phases feed it",
    "tell.supply": "why the volts sag as it starts: conductors, joints, transformer",
    "tell.pressures": "both pressures",
    "tell.coil_volts": "volts at the contactor's coil",
    "tell.contactor": "a look at contactor, coil and overload, locked out",
    "tell.detector": "the state of the leak detector",
    "tell.cut_outs": "the state of both cut-outs",
    "tell.capacitor": "its run capacitor, measured",
    "tell.longer": "a longer record",
    "tell.from_before": "a record from before the start",
    "tell.rest": "a start after a rest, from equal pressures",
    "tell.since_stop": "when it stopped",
    "phase.a": "phase L1",
    "phase.b": "phase L2",
    "phase.c": "phase L3",
    "phase.some": "a phase",
}
