"""Each guard by itself: what it speaks against, and every single thing without which it says nothing.

Why each of them stands: at the guard, most of them common practice without a source.
"""

from dataclasses import replace
from typing import Any

import pytest

from calc.ledger import Doubtful
from calc.refrigerants import get
from calc.sentences import Sentence, mass, term, text
from ingest.visit.guards import questions, refusals, together
from ingest.visit.intended import Intended, Twin
from ingest.wire.messages import CylinderStands, Wording
from ingest.wire.wording import worded

OURS = CylinderStands("7", "virgin", "R-410A", holds_kg=11.0, most_kg=18.0)
RECOVERY = CylinderStands("9", "recovery", "R-410A", holds_kg=17.0, most_kg=18.0)
OTHER = CylinderStands("8", "virgin", "R-22")
NEW = CylinderStands("5", "recovery")
HOLD = Wording("Ask Robin first.", "Ask Robin first.", "hold.each_move", (text("by", "Robin"),))
STOP = Wording("Robin asked to stop.", "Robin asked to stop.", "guard.stop_stands", (text("stop_by", "Robin"),))
LATER_HOLD = Wording("Ask Kim first.", "Ask Kim first.", "hold.recover", (text("by", "Kim"),))

RIGHT = Wording("These cannot tell.", "These cannot tell.", "headline.too_close")
HALF = (mass("mass", 0.1), term("phase", "liquid"))

IN, OUT = {"is_added": True, "phase": "liquid"}, {"is_added": False, "phase": "vapour"}
CORRECTED = {"is_correction": True}

TWIN = Twin("Robin", 0.1, 0.14)

TELLS: dict[str, tuple[dict[str, Any], list[dict[str, Any]]]] = {
    "guard.other_refrigerant": (IN | {"cylinder": OTHER}, [{"cylinder": None}, {"cylinder": OURS}, {"cylinder": NEW}]),
    "guard.other_refrigerant_out": (OUT | {"cylinder": OTHER}, [{"cylinder": RECOVERY}, {"cylinder": NEW}]),
    "guard.no_phase": (IN | {"phase": ""}, [{"phase": "vapour"}, {"is_added": False}, CORRECTED]),
    "amount.impossible": (IN | {"doubtful": Doubtful.IMPOSSIBLE}, [{"doubtful": None}]),
    "guard.panel_unknown": (
        IN | {"refrigerant": get("R-454B")},
        [{"refrigerant": get("R-410A")}, {"cover": "closed"}, {"cover": "open"}, CORRECTED],
    ),
    "guard.panel_open": (
        OUT | {"refrigerant": get("R-290"), "cover": "open"},
        [{"refrigerant": get("R-22")}, {"cover": "closed"}, CORRECTED],
    ),
    "guard.panel_unknown_found": (
        IN | {"refrigerant": get("R-410A"), "found_to_burn": True},
        [{"found_to_burn": False}, {"refrigerant": get("R-454B")}, {"cover": "closed"}, {"cover": "open"}, CORRECTED],
    ),
    "guard.panel_open_found": (
        OUT | {"refrigerant": get("R-22"), "found_to_burn": True, "cover": "open"},
        [{"found_to_burn": False}, {"refrigerant": get("R-290")}, {"cover": "closed"}, CORRECTED],
    ),
    "guard.stop_stands": (OUT | {"stop": STOP}, [{"stop": None}, CORRECTED]),
    "guard.noted_by_both": (IN | {"twin": TWIN}, [{"twin": None}, {"is_added": False}, CORRECTED]),
    "guard.noted_by_both_out": (OUT | {"twin": TWIN}, [{"twin": None}, {"is_added": True}, CORRECTED]),
    "amount.noted_by_hand": (IN | {"by_hand": TWIN}, [{"by_hand": None}, CORRECTED]),
    "guard.runs_in_vacuum": (
        IN | {"runs": True, "vacuum_pa": 49_999.5},
        [{"runs": None}, {"runs": False}, {"vacuum_pa": None}, {"vacuum_pa": 50_000.0}, CORRECTED],
    ),
    "guard.cylinder_full": (
        OUT | {"cylinder": RECOVERY, "mass_kg": 1.01},
        [
            {"mass_kg": 1.0},
            {"is_added": True},
            {"cylinder": None},
            {"cylinder": CylinderStands("9", "recovery", "R-410A", most_kg=1.0)},
            {"cylinder": CylinderStands("9", "recovery", "R-410A", holds_kg=17.0)},
        ],
    ),
    "guard.not_for_recovery": (
        OUT | {"cylinder": OURS},
        [{"is_added": True}, {"cylinder": None}, {"cylinder": RECOVERY}],
    ),
    "guard.runs_into_vacuum": (
        IN | {"into_vacuum": True, "runs": True, "purpose": "weigh_in"},
        [{"is_added": False}, {"into_vacuum": False}, {"runs": False}, {"runs": None}],
    ),
    "guard.liquid_at_rest": (
        IN | {"port": "suction", "runs": False},
        [{"is_added": False}, {"phase": "vapour"}, {"port": "liquid"}, {"port": ""}, {"runs": True}, {"runs": None},
         CORRECTED],
    ),
    "hold.each_move": (OUT | {"holds": (HOLD, LATER_HOLD)}, [{"holds": ()}, {"holds": (LATER_HOLD, HOLD)}, CORRECTED]),
    "guard.leak_open": (IN | {"leak_found_s": 1.7e9}, [{"is_added": False}, {"leak_found_s": None}, CORRECTED]),
    "guard.added_before": (
        IN | {"added_before_s": (1.7e9,)},
        [{"is_added": False}, {"added_before_s": ()}, {"leak_sought": True}, {"leak_found_s": 1.7e9}, CORRECTED,
         {"purpose": "weigh_in"}, {"purpose": "new_installation"}],
    ),
    "guard.heats": (IN | {"heats": True}, [{"heats": False}, {"purpose": "weigh_in"}, CORRECTED]),
    "guard.advised_out": (
        IN | {"advised": "recover"},
        [{"advised": "add"}, {"advised": ""}, {"purpose": "weigh_in"}, {"is_added": False}, CORRECTED],
    ),
    "guard.advised_in": (
        OUT | {"advised": "add"},
        [{"advised": "recover"}, {"advised": ""}, {"purpose": "weigh_in"}, {"is_added": True}, CORRECTED],
    ),
    "guard.leaks_first": (
        IN | {"leaks_first": True},
        [{"leaks_first": False}, {"leak_sought": True}, {"purpose": "weigh_in"}, {"is_added": False}, CORRECTED],
    ),
    "guard.nothing_to_move": (
        OUT | {"to_leave": RIGHT},
        [{"to_leave": None}, {"heats": True}, {"purpose": "weigh_in"}, CORRECTED],
    ),
    "guard.vapour_of_blend": (
        IN | {"phase": "vapour"},
        [{"phase": "liquid"}, {"is_added": False}, {"refrigerant": get("R-22")}, CORRECTED],
    ),
    "amount.sum": (IN | {"doubtful": Doubtful.SUM_PASSES_NAMEPLATE}, [{"doubtful": None}]),
    "amount.sum_out": (OUT | {"doubtful": Doubtful.MORE_THAN_NAMEPLATE_OUT}, [{"doubtful": None}]),
    "guard.never_settled": (
        IN | {"runs": True, "figure": "subcooling"},
        [{"runs": False}, {"runs": None}, {"figure": ""}, {"has_settled": True}, {"moved_ago_s": 400.0},
         {"purpose": "weigh_in"}, CORRECTED],
    ),
    "guard.not_settled_since": (
        OUT | {"runs": True, "figure": "superheat", "moved_ago_s": 400.0},
        [{"runs": False}, {"figure": ""}, {"has_settled": True}, {"moved_ago_s": None}, CORRECTED],
    ),
    "guard.too_soon": (
        IN | {"runs": True, "since_move_s": 299.5, "moved_ago_s": 299.5, "has_settled": True},
        [{"runs": False}, {"runs": None}, {"since_move_s": None}, {"since_move_s": 300.0}, {"has_settled": False},
         {"purpose": "weigh_in"}, CORRECTED],
    ),
    "amount.in_one_go": (
        IN | {"doubtful": Doubtful.LARGE_STEP},
        [{"doubtful": None}, {"purpose": "weigh_in"}],
    ),
}  # fmt: skip


def intended(**fields: Any) -> Intended:
    """A move of 0.1 kg at a circuit of R-410A that holds 3.4 kg, of which nothing is known but what is said here."""
    known: dict[str, Any] = {"mass_kg": 0.1, "refrigerant": get("R-410A"), "charge_kg": 3.4}
    return Intended(**known | fields)


def told(it: Intended) -> list[str]:
    return [said.kind for said in (*refusals(it), *questions(it))]


@pytest.mark.parametrize("kind", TELLS)
def test_it_speaks_where_all_of_it_holds_and_is_silent_where_one_thing_does_not(kind: str) -> None:
    fields, without = TELLS[kind]
    it = intended(**fields)
    assert kind in told(it)
    for change in without:
        assert kind not in told(replace(it, **change)), change


@pytest.mark.parametrize("kind", TELLS)
def test_what_holds_alone_is_told_alone(kind: str) -> None:
    fields, _ = TELLS[kind]
    beside = {"guard.other_refrigerant_out": ["guard.not_for_recovery"], "guard.no_phase": []}
    assert told(intended(**fields)) == [kind, *beside.get(kind, [])]


def test_of_a_correction_only_how_much_and_where_is_looked_at() -> None:
    """What the instruments show now says nothing of a move that was made."""
    fields: dict[str, Any] = {}
    for its, _ in TELLS.values():
        fields |= its
    fields |= IN | CORRECTED | {"cylinder": None, "doubtful": Doubtful.LARGE_STEP, "port": "suction", "purpose": ""}
    for runs in (True, False):
        for refrigerant in ("R-410A", "R-454B"):
            it = intended(**fields | {"runs": runs, "into_vacuum": False, "refrigerant": get(refrigerant)})
            assert told(it) == told(replace(it, phase="vapour")) == ["amount.in_one_go"]


def test_much_in_one_go_by_weight_is_asked_about_only_where_no_plate_says_how_much_there_is() -> None:
    large = intended(**IN, doubtful=Doubtful.LARGE_WITHOUT_NAMEPLATE, purpose="weigh_in", charge_kg=None, mass_kg=2.5)
    assert told(large) == ["amount.in_one_go"]
    assert told(replace(large, doubtful=Doubtful.LARGE_STEP, charge_kg=9.0)) == []
    assert told(replace(large, doubtful=Doubtful.LARGE_STEP, charge_kg=9.0, is_correction=True)) == ["amount.in_one_go"]


def test_one_of_several_is_a_statement_and_the_whole_is_the_question() -> None:
    one = questions(intended(**IN, doubtful=Doubtful.LARGE_STEP))
    two = questions(intended(**IN | {"phase": "vapour"}, doubtful=Doubtful.LARGE_STEP))
    assert together(one, is_question=True).kind == "amount.in_one_go"
    asked = together(two, is_question=True)
    assert asked.kind == "question.all_the_same"
    (said,) = (part for part in asked.parts if part.place == "said")
    assert said.terms == ("guard.vapour_of_blend", "guard.in_one_go")
    refused = refusals(intended(is_added=True, cylinder=OTHER))
    assert together(refused, is_question=False).kind == "question.refused"
    assert together(refused[:1], is_question=False).kind == "guard.other_refrigerant"


def test_the_headline_is_repeated_and_its_figures_stay_in_the_readers_units() -> None:
    (said,) = questions(intended(**IN, to_leave=worded(Sentence("headline.add_first", HALF))))
    asked = together([said], is_question=True)
    assert "The advice is: First look for leaks; then add 4 oz as liquid" in asked.us
    assert "then add 100 g as liquid" in asked.si
    assert asked.us.endswith("Shall it be noted all the same?")


def test_the_discharge_port_is_on_the_high_side_too() -> None:
    """What runs presses its discharge into the cylinder: common practice, no source."""
    assert "guard.liquid_side_runs" in told(intended(**IN, port="discharge", runs=True))


def test_of_several_visits_before_the_last_is_named() -> None:
    (said,) = questions(intended(**IN, added_before_s=(1.7e9, 1.75e9)))
    figures = {part.place: part for part in said.parts}
    assert figures["visits"].value == 3.0  # with this one
    assert figures["added_day"].terms == ("2025-06-15",)  # 1.75e9 s after 1970-01-01: by the calendar


def test_of_several_holds_the_oldest_is_told_with_whose_it_is() -> None:
    (said,) = questions(intended(**OUT, holds=(HOLD, LATER_HOLD)))
    assert (said.kind, said.parts) == ("hold.each_move", HOLD.parts)
