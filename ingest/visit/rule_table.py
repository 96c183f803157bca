"""The functions that rules call by name. Each asks calc, and decides nothing that calc does not."""

from collections.abc import Callable, Mapping

from ingest.visit import rule_circuit, rule_dead, rule_live, rule_rig
from ingest.visit.answers import Answers, Verdict

RULES: Mapping[str, Callable[[Answers, str], Verdict]] = {
    "which_unit": rule_circuit.which_unit,
    "look_first": rule_circuit.look_first,
    "nothing_feeds_it": rule_rig.nothing_feeds_it,
    "locked_by_name": rule_rig.locked_by_name,
    "lock_is_off": rule_rig.lock_is_off,
    "power_is_left_on": rule_rig.power_is_left_on,
    "other_feeds_open": rule_rig.other_feeds_open,
    "proved_dead": rule_rig.proved_dead,
    "cools_as_said": rule_rig.cools_as_said,
    "air_is_moved": rule_rig.air_is_moved,
    "ports_are_shut": rule_rig.ports_are_shut,
    "runs_by_itself": rule_rig.runs_by_itself,
    "discharged": rule_dead.discharged,
    "capacitor_sections": rule_dead.capacitor_sections,
    "like_for_like": rule_dead.like_for_like,
    "winding_sum": rule_dead.winding_sum,
    "insulation": rule_dead.insulation,
    "conductor_fits": rule_dead.conductor_fits,
    "tightened": rule_dead.tightened,
    "poles_alike": rule_live.poles_alike,
    "cause_answered": rule_dead.cause_answered,
    "screws_back": rule_dead.screws_back,
    "compressor_runs": rule_live.compressor_runs,
    "supply_within": rule_live.supply_within,
    "supply_balance": rule_live.supply_balance,
    "supply_sag": rule_live.supply_sag,
    "start_sag": rule_live.start_sag,
    "amps_against_plate": rule_live.amps_against_plate,
    "amps_balance": rule_live.amps_balance,
    "capacitance_under_load": rule_live.capacitance_under_load,
    "joints": rule_live.joints,
    "pressures_agree": rule_circuit.pressures_agree,
    "nothing_open_of_the_first_look": rule_circuit.nothing_open_of_the_first_look,
    "a_figure_is_there": rule_circuit.a_figure_is_there,
    "settled_by_the_judge": rule_circuit.settled_by_the_judge,
    "waited_after_the_move": rule_circuit.waited_after_the_move,
    "ledger_below_the_nameplate": rule_circuit.ledger_below_the_nameplate,
    "nothing_that_burns_is_purged": rule_circuit.nothing_that_burns_is_purged,
    "liquid_side_at_rest": rule_circuit.liquid_side_at_rest,
    "not_added_twice": rule_circuit.not_added_twice,
    "air_is_far_from_burning": rule_circuit.air_is_far_from_burning,
    "nitrogen_held": rule_circuit.nitrogen_held,
    "weighed_in": rule_circuit.weighed_in,
    "jumpers_out": rule_dead.jumpers_out,
}
"""From the answers to a check, and the trick that would tell, to what is told. Raises AnswerError or CalcError."""
