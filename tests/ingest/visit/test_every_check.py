"""Every guided check: it can be met, by what is written here, and never without any of it that its rules need."""

from collections.abc import Iterator

import pytest
from msgspec.structs import replace

from ingest.visit.checklist import guided
from ingest.visit.deciding import RefusedError
from ingest.visit.standing import Standing
from ingest.wire.messages import Finding
from tests.cases import case
from tests.ingest.visit.checks import THREE_PHASES, course, exact, facts, find

UF = 1e-6
PSI = 6894.757
EMPTY = {"volts.herm_common": 0.1, "volts.fan_common": 0.1, "volts.herm_fan": 0.1}
DEAD = {"source_before": 238.0, "source_after": 238.0, "control": 0.0}
DEAD |= {"volts.a_b": 0.1, "volts.a_earth": 0.1, "volts.b_earth": 0.1}
CAN = {
    "measured.herm": 45.1 * UF, "label.herm": 45 * UF, "measured.fan": 5.02 * UF, "label.fan": 5 * UF,
}  # fmt: skip
REPLACED = {
    "old_label.herm": 45 * UF, "new_label.herm": 45 * UF, "measured.herm": 45.1 * UF, "rated_volts.old": 370.0,
    "rated_volts.new": 440.0, "hertz.old": 60.0, "hertz.new": 60.0,
}  # fmt: skip
OPENED = {
    "nitrogen.start": 1135e3, "nitrogen.end": 1135e3, "pipe.start": 295.0, "pipe.end": 295.0, "plate_limit": 3e6,
    "vacuum": 40.0, "isolated_for": 1300.0, "weighed_in": 3.4, "charge_due": 3.4,
}  # fmt: skip

WHOLE: dict[str, tuple[dict[str, float], dict[str, str], int]] = {
    "complaint": ({}, {"complaint": "It blows warm.", "last_visit": "none"}, 0),
    "which_unit": ({}, {"told_by": "tag", "tag": "RTU-K7Q-4"}, 1),
    "look_first": ({}, {"found": "explains", "repaired": "yes", "bypassed": "none"}, 0),
    "what_is_in_it": ({}, {"cylinder": "same", "safety_class": "A1"}, 0),
    "isolate": (
        {},
        {
            "disconnect_state": "locked_by_me", "tried": "nothing", "other_feeds": "none", "locked_by": "Sam",
        },
        1,
    ),
    "prove_dead": (DEAD, {"phases": "single", "tester_kind": "meter", "at_place_of_work": "yes"}, 0),
    "discharge": (EMPTY, {"means": "resistor", "sections": "dual"}, 0),
    "wiring_photograph": ({}, {"taken": "before"}, 1),
    "capacitor_by_eye": ({}, {"top": "flat", "can": "dry", "terminals": "sound", "strap": "strapped"}, 0),
    "capacitor_measured": (CAN, {"sections": "dual"}, 0),
    "replacement": (REPLACED, {"strap": "strapped", "leads": "yes", "why": "it read low"}, 0),
    "windings": (
        {"ohms.start_common": 11.0, "ohms.run_common": 4.0, "ohms.start_run": 15.0, "to_case": 50e6}, {}, 0,
    ),
    "conductor": (
        {"gauge": 12.0, "range.thinnest": 16.0, "range.thickest": 10.0},
        {"gauge_by": "printed", "strands": "inside", "pull": "holds", "metal": "bright"},
        0,
    ),
    "connections": (
        {"gauge": 12.0, "torque": 35 * 0.1129848},  # NIST SP 811, B.8: 1 lbf in
        {"terminal": "L1", "found": "tight", "heat": "none", "torque_by": "table", "slot": "wide"},
        0,
    ),
    "contactor": ({}, {"faces": "clean", "travel": "free"}, 0),
    "cause": ({}, {"cause": "loose_joint", "done": "made anew"}, 0),
    "close_panel": ({"screws.out": 8.0, "screws.back": 8.0}, {"cover": "on", "inside": "nothing"}, 0),
    "power_back": ({"compressor": 8.0, "since_stop": 600.0}, {"call": "present", "contactor": "in"}, 0),
    "start": ({"to_speed": 0.4, "restarts": 0.0}, {"course": "ran", "caught": "record"}, 0),
    "supply": ({"nameplate.low": 230.0, "running.a_b": 232.0, "rest.a_b": 238.0}, {}, 0),
    "motor_amps": ({"amps.a": 1.6}, {"motor": "condenser_fan"}, 0),
    "capacitor_under_load": (
        {"amps": 6.28, "volts": 370.0, "hertz": 60.0, "label": 45 * UF}, {"drive": "no"}, 0,
    ),
    "joint_drop": ({"drop.a": 0.03, "amps": 9.0}, {}, 0),
    "contactor_live": ({}, {"when_called": "in"}, 0),
    "probes_on": ({"pressure.suction": 160 * PSI, "pressure.liquid": 160 * PSI}, {"unit_is": "at_rest"}, 0),
    "air": (
        {"outdoor": 303.0},
        {"mode": "cooling", "dampers": "closed", "stages": "all", "coil": "dry", "condition": "met"},
        0,
    ),
    "readings_before": ({"superheat": 6.0}, {"settled": "yes"}, 0),
    "moving": ({}, {"cylinder": "same", "hose": "purged", "mass_known_by": "scale"}, 0),
    "leaks": (
        {},
        {
            "oil": "none", "caps_and_cores": "tight", "joints": "tight", "coil_ends": "tight",
            "by": "bubbles", "read_again": "in four weeks",
        },
        0,
    ),
    "opened": (
        OPENED,
        {
            "level_verified": "yes", "purged": "yes", "flowing": "yes", "drier": "none", "gas": "nitrogen",
            "tested": "last", "vacuum_course": "holds",
        },
        0,
    ),
    "readings_after": ({"superheat": 6.0}, {"settled": "yes", "conditions": "same"}, 0),
    "looked_for": ({}, {"cause": "airflow", "seen": "nothing"}, 0),
    "probes_off": ({}, {"hoses": "emptied", "cores": "bubbles", "caps": "sealed"}, 0),
    "as_it_was": (
        {"jumpers.in": 1.0, "jumpers.out": 1.0},
        {
            "cut_outs_reset": "none", "leak_detector": "none", "thermostat": "back", "power": "on",
            "runs": "own_call", "tools": "all",
        },
        1,
    ),
    "panels": ({"screws.out": 8.0, "screws.back": 8.0}, {}, 1),
    "tag": ({}, {"kind": "engraved", "readable": "yes"}, 1),
    "handover": (
        {},
        {
            "complaint": "gone", "left": "running", "next_person": "read the subcooling again", "owner": "told",
            "next_reading": "in four weeks",
        },
        0,
    ),
}  # fmt: skip
"""The least by which each check is met, at the invented unit."""

LOOKED = find("look_first", {}, {"found": "nothing", "bypassed": "none"})


def made(
    word: str, values: dict[str, float], choices: dict[str, str], photographs: int, *, standing: Standing | None = None
) -> Finding:
    named = [f"p{number}" for number in range(photographs)]
    before = course(replace(LOOKED, id="l1")) if standing is None else standing
    return find(
        word, values, choices, photographs=named, accuracies=exact(values), standing=before, grade="said"
    )  # fmt: skip


def test_every_check_is_here() -> None:
    assert list(WHOLE) == list(guided())


@pytest.mark.parametrize("word", WHOLE)
def test_it_can_be_met(word: str) -> None:
    found = made(word, *WHOLE[word])
    assert found.outcome == "met", found.says


def without_one() -> Iterator[tuple[str, str]]:
    for word, (values, choices, photographs) in WHOLE.items():
        yield from ((word, name) for name in (*values, *choices))
        if photographs:
            yield word, ""


def test_without_any_of_it_nobody_says_met() -> None:
    for word, left_out in without_one():
        with case(word, left_out):
            values, choices, photographs = WHOLE[word]
            fewer = {name: value for name, value in values.items() if name != left_out}
            said = {name: chosen for name, chosen in choices.items() if name != left_out}
            found = made(word, fewer, said, photographs if left_out else 0)
            assert found.outcome != "met"
            assert found.says is not None
            with pytest.raises(RefusedError):
                find(word, fewer, said, outcome="met", grade="said", accuracies=exact(fewer))


@pytest.mark.parametrize("word", WHOLE)
def test_with_nothing_at_all_it_says_what_is_missing(word: str) -> None:
    found = find(word)
    assert found.outcome == "cannot_tell"
    assert found.says is not None
    assert found.says.kind in ("finding.missing", "finding.live_dead_live_missing")


def test_air_waits_for_the_first_look() -> None:
    found = made("air", *WHOLE["air"], standing=Standing("v1"))
    assert (found.outcome, found.says and found.says.us) == ("cannot_tell", "Still missing: Look first.")


@pytest.mark.parametrize(
    ("word", "values", "choices"),
    [
        ("contactor", {"coil_volts": 24.0, "coil_rated": 0.0}, {}),
        ("supply", {"nameplate.low": 230.0, "running.a_b": 230.0, "rest.a_b": 0.0}, {}),
        ("supply", {"nameplate.low": 230.0, "rest.a_b": 230.0, "rest.b_c": 230.0, "running.a_b": 230.0}, {}),
        ("capacitor_measured", {"measured.herm": 45e-6, "label.herm": 0.0}, {"sections": "herm"}),
        ("opened", OPENED | {"charge_due": 0.0}, {}),
        ("windings", {"ohms.start_common": 0.0, "ohms.run_common": 4.0, "ohms.start_run": 4.0}, {}),
        ("motor_amps", {"amps.a": 5.0, "turns": 2.5}, {"motor": "condenser_fan"}),
    ],
)  # fmt: skip
def test_what_cannot_be_is_refused_by_its_name(word: str, values: dict[str, float], choices: dict[str, str]) -> None:
    with pytest.raises(RefusedError, match="values: "):
        find(word, values, choices, accuracies=exact(values))


def test_three_windings_that_read_nothing_are_refused() -> None:
    values = {"ohms.a_b": 0.0, "ohms.b_c": 0.0, "ohms.c_a": 0.0, "to_case": 50e6}
    with pytest.raises(RefusedError, match="there is nothing to compare"):
        find("windings", values, known=facts(*THREE_PHASES), accuracies={})


FAILS = [(word, it.name, option) for word, of in guided().items() for it in of.check.choices for option in it.fails]


@pytest.mark.parametrize(("word", "name", "option"), FAILS)
def test_a_check_is_not_met_by_an_answer_that_is_said_to_fail_it_whatever_else_stands(
    word: str, name: str, option: str
) -> None:
    known = facts(refrigerant="R-454B", safety_class="A2L")
    assert find(word, choices={name: option}, known=known).outcome == "not_met"
