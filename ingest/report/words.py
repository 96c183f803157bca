"""Plain words for an owner: parts, motors, causes, checks, and how a refrigerant burns. A table a kind of word."""

from collections.abc import Mapping

CAPACITOR = "run capacitor, the part that helps a motor to start and to run"
CONTACTOR = "contactor, the switch that turns the compressor on"
MOTORS: Mapping[str, str] = {
    "compressor": "compressor",
    "condenser_fan": "outdoor fan",
    "blower": "indoor fan",
    "other": "motor",
    "": "motor",
}

BURNS: Mapping[str, str] = {
    "1": "does not burn",
    "2L": "burns, though slowly and only where much of it gathers",
    "2": "burns",
    "3": "burns as readily as cooking gas",
}
"""By the second part of the safety class: what ASHRAE 34 grades, in words that are ours."""
POISONS = "is poisonous"
"""What is of class B there."""

LOOKED_FOR: Mapping[str, str] = {
    "airflow": "too little air went over the indoor coil",
    "rejection": "too little air went over the outdoor coil, or hot air was drawn in again, so that the unit could not "
    "give off its heat",
    "restriction": "something in the pipe held the refrigerant back",
    "valves": "the compressor's valves leak inside, so that it moves too little refrigerant",
    "feed": "the valve that meters the refrigerant let too much of it through",
}
STARTS: Mapping[str, str] = {
    "laboured": "started with difficulty",
    "stalled": "hummed and did not turn",
    "backwards": "turned backwards",
    "lost_phase": "ran on too few of its wires",
    "did_not_start": "did not start",
}
CAUSES: Mapping[str, str] = {
    "loose_joint": "heat from a loose wire connection",
    "volts": "too high or too low a supply voltage",
    "wrong_part": "a wrong part that had been fitted",
    "age": "its age",
    "surge": "a surge of the supply",
    "water": "water",
    "animals": "animals",
    "motor_drags": "a motor that turns too hard",
}
SKIPPED: Mapping[str, str] = {
    "not_reachable": "could not be reached",
    "not_asked_for": "was not asked for",
    "weather": "the weather did not allow it",
    "other": "",
    "": "",
}
"""Why something was not checked. What is not fitted is not left out."""
CHECKS: Mapping[str, str] = {
    "which_unit": "which unit this is, by its tag",
    "look_first": "the whole unit by eye",
    "what_is_in_it": "which refrigerant is in it",
    "capacitor_by_eye": "the run capacitor by eye",
    "capacitor_measured": "the run capacitor by a meter",
    "capacitor_under_load": "the run capacitor while the unit runs",
    "replacement": "whether the new part is like the old one",
    "windings": "the windings of the motor",
    "conductor": "the wires that were worked on",
    "connections": "the wire connections",
    "contactor": "the switch that turns the compressor on",
    "cause": "why the part failed",
    "close_panel": "whether the electrical cover is closed as it was",
    "power_back": "whether it starts as it should with power back",
    "start": "how the motors start",
    "supply": "the supply voltage",
    "motor_amps": "the current of the motors",
    "joint_drop": "the wire connections under load",
    "contactor_live": "the switch that turns the compressor on, while it is on",
    "air": "the air over the indoor coil",
    "readings_before": "the refrigerant level as we came",
    "leaks": "whether refrigerant leaks",
    "opened": "the tests of the opened circuit",
    "readings_after": "the refrigerant level as we left",
    "looked_for": "what the readings point at",
    "probes_off": "whether the service ports are tight",
    "as_it_was": "whether all of it is as it was",
    "panels": "whether every panel and screw is back",
    "tag": "whether the unit's tag can be read",
}
"""What a check is about, for an owner. Checks of how work is done safely are the technician's; the back has them."""
PICTURES: Mapping[str, str] = {
    "look_first": "what we saw",
    "what_is_in_it": "its labels",
    "capacitor_by_eye": "the run capacitor",
    "capacitor_measured": "the run capacitor",
    "capacitor_under_load": "the run capacitor",
    "replacement": "the new part",
    "windings": "the motor",
    "conductor": "a wire that was worked on",
    "connections": "a wire connection",
    "joint_drop": "a wire connection",
    "contactor": "the switch that turns the compressor on",
    "leaks": "where we looked for a leak",
    "close_panel": "the electrical cover, closed",
    "probes_off": "the service ports with their caps",
    "as_it_was": "the unit as we left it",
    "panels": "the panels, closed",
}
"""What a photograph of a check shows, for an owner."""
