"""The page's own sentences, by key, and how one is said: a table of its own beside `calc.sentences`.

Why two: what judging says travels as a kind with its figures, is recorded, and is worded for every client of the
wire; so its table stands in calc. What stands here is the page's alone (its buttons, hints, what came of a touch): it
never travels, nobody else has it, and calc may know no page. Names of channels, links and qualities stand in
`dashboard.words`, one table a kind of name.

Another language is one more of each: a `calc.sentences.Language`, a mapping with the keys of `ENGLISH` here, and the
tables of `dashboard.words`. A test holds that nothing is missing or left over, and that no page module spells a
sentence.
"""

from collections.abc import Mapping
from types import MappingProxyType


def say(key: str, **places: object) -> str:
    """Say a sentence of the page, with what fills its places.

    Raises:
        KeyError: there is no such sentence, or a place is left empty.

    >>> say("mark.was", mass="6 oz")
    'It was 6 oz'

    """
    return ENGLISH[key].format_map(places)


ENGLISH: Mapping[str, str] = MappingProxyType(
    {
        "actions.note_to_the_technician": "Note to the technician",
        "advice.not_read_yet": "Not read yet",
        "amount.recorded_by": "{mark}, recorded by {by}.",
        "amount.added_as": "{mass} of {refrigerant} added as {phase}.",
        "amount.recovered_as": "{mass} of {refrigerant} recovered as {phase}.",
        "amount.recorded": "Recorded: {what}.",
        "amount.nothing_moved": "Nothing was moved. What was recorded before stays in the record, as corrected.",
        "amount.it_was": "It was {mass}. What was recorded before stays in the record, as corrected.",
        "amount.liquid_only": " {refrigerant} must be charged as liquid: record vapour only if that is what was done.",
        "amount.touch_record": "{sentence} Touch Record to keep it.",
        "amount.now_wait": " Now wait until the figures have settled.",
        "amount.if_so": "{doubt} If it is, touch Record, and then Yes.",
        "amount.yes": "Yes, record it",
        "amount.not_one": "This mark is no amount that could be corrected.",
        "amounts.amount_of": "Amount of {refrigerant}",
        "amounts.correct": "Correct an amount",
        "amounts.hint": "As the trade writes it: {examples}. A number alone counts as {unit}.",
        "amounts.no_more": "Add no more: record only what has been done.",
        "amounts.only_done": "Record only what has been done.",
        "amounts.what_it_was": "What it was",
        "amounts.advised": "Filled in as advised: write what the scale says.",
        "amounts.nothing_was_moved": "Nothing was moved",
        "amounts.it_really_was": "It really was",
        "check.reads": "{what} reads {offset} {side}, ±\u00a0{spread}.",
        "check.higher": "higher than it should",
        "check.lower": "lower than it should",
        "check.higher_than": "higher than {other}",
        "check.lower_than": "lower than {other}",
        "check.within": "That is within its maker's limit.",
        "check.out": "That is beyond its maker's limit.",
        "check.cannot_tell": "This check cannot tell whether that is within its maker's limit.",
        "check.replace": "Do not rely on it: have it calibrated, or take another.",
        "check.stays": "It stays as it is: taking this off would not make it surer.",
        "check.can_be_corrected": "Touch Correct to take it off from now on; its readings are then good to {then}, "
        "so far {so_far}.",
        "checks.corrected": "{what} is corrected from now on, for this visit. The marks keep what it was.",
        "checks.none_recorded": "The rig recorded no check.",
        "checks.wait": "Wait until the reading stands, then touch Check.",
        "checks.open_to_air": "Open to air",
        "checks.two_on_one_pipe": "Two on one pipe",
        "checks.jaw_on_nothing": "Jaw on nothing",
        "checks.confirm": "It is there: check",
        "checks.title": "Check an instrument",
        "checks.close_valve": "Shut the valve between the unit and the probe.",
        "checks.straight_on_the_port": "A probe that sits straight on the port comes off only with the port's own "
        "valve shut, or by a core tool.",
        "checks.empty_hose": "Recover what the hose holds.",
        "checks.seen_by_another_gauge": "This probe is what is in doubt: see by another gauge that the pressure is "
        "gone.",
        "checks.no_other_gauge": "Without one, crack a valve towards the recovery side, and wait until nothing flows "
        "any more.",
        "checks.no_vacuum": "Stop there: never pull the hose towards a vacuum on the word of this probe.",
        "checks.probe_off": "Only then take the probe off, and leave it open to the air, out of the wind.",
        "checks.fill_cup": "Fill an insulated cup with crushed ice, and clean water just to cover it. Stir.",
        "checks.clamp_in_ice": "Put the clamp into the middle of it, in a thin bag if it must not get wet. Stir again.",
        "checks.mind_maker": "Mind the clamp's maker: not every one may get wet.",
        "checks.side_by_side": "Put both clamps side by side on one clean pipe whose temperature is steady.",
        "checks.cover_both": "Cover both against air and sun.",
        "checks.burns": "A discharge line burns. Keep hands and leads away from fans and live parts.",
        "checks.jaw_off": "Take the jaw off every conductor and close it on nothing, an arm away from motors and "
        "cables.",
        "checks.meter_zero": "Let the meter set itself to zero, if it can.",
        "checks.live_parts": "Inside an open panel parts are live: only as licensed practice and local codes allow.",
        "checks.simulated": "This unit is simulated: its probes sit where they are. The steps can be read here and not "
        "done, and a check would blame a sound probe for still being on the unit.",
        "checks.no_instrument": "This rig has no instrument for that.",
        "dialogs.whole_visit": "{count} for the whole visit",
        "figures.in_doubt": "In doubt: see {other}.",
        "figures.in_doubt_with_inputs": "In doubt, as what it comes from.",
        "figures.missing": "not received here; the record has it",
        "figures.span_of_time": "Span of time",
        "figures.ruler": "Superheat and subcooling on the temperature ruler",
        "hands.open": "At the unit…",
        "hands.title": "At the simulated unit",
        "hands.power_and_call": "Power and call",
        "hands.put_on_purged": "Put on, purged",
        "hands.put_on_unpurged": "Put on, full of air",
        "hands.technician_only": "A {role} watches; only the technician at the unit touches it.",
        "hands.not_simulated": "This rig is not simulated: nothing here moves a real unit.",
        "invite.own_machine_only": "This page listens on this machine only, so the link opens nowhere else. Start the "
        "dashboard with --host, --certificate and --key to let others in.",
        "invite.works_once": "It works once, within {minutes} minutes.",
        "invite.technician_only": "Only the technician at the unit invites.",
        "invite.lead_watches": "Whoever opens this link watches this visit and can write you notes, nothing else.",
        "mark.was": "It was {mass}",
        "mark.instead": "instead of {mark}",
        "mark.withdrawn": "Withdrawn",
        "mark.checked": "{what} checked",
        "mark.corrected": "{what} corrected",
        "marks.reading_recorded": "The reading is recorded.",
        "marks.note_recorded": "The note is recorded.",
        "marks.note_read": "The lead knows that you read the note.",
        "note.title": "Note on this visit",
        "note.text": "What should stay with this visit?",
        "opinion.causes": "What would explain the readings",
        "opinion.protocol": "By California Title 24, RA3.2, as its installers verify it; the maker comes first.",
        "opinion.verdict": "May the charge be judged?",
        "opinion.suction_dew_point": "Dew point, suction",
        "opinion.air_split": "Return air less supply air",
        "opinion.rest_over_outdoor": "Bubble point at rest over the colder air",
        "training.review": "Your verdict: {verdict}. Touch Commit to end the exercise with it.",
        "training.untold": "is anything wrong?",
        "training.held_back": "This is an exercise: what the rig advises is held back until the verdict.",
        "training.too_much": "{mass} too much",
        "training.too_little": "{mass} too little",
        "training.as_it_should_be": "as it should be",
        "training.time": "Time, by the unit's clock",
        "training.charge_left": "Charge left in the unit",
        "training.simulated": "This unit is simulated. On a real one the nameplate, the equipment maker's "
        "instructions, local codes and licensed practice come first.",
        "training.ends": "A verdict ends the exercise: the truth is shown, and your way to it is scored.",
        "training.what_is_wrong": "What is wrong",
        "training.on_the_bench": "On the bench: ",
        "training.no_exercise": "There is no exercise on this rig, or it has ended.",
        "training.choose_first": "Choose what is wrong first.",
        "training.technician_only": "A {role} watches; only the technician at the unit gives the verdict.",
        "training.no_rig": "No rig has been heard yet.",
        "training.no_answer": "The bench has not answered within {seconds} s. See whether it runs, and commit again.",
        "watching.one": "{names} watches",
        "watching.several": "{names} watch",
        "watching.and": " and ",
        "watching.others": "{count} others",
        "watching.unnamed": "a lead",
    }
)
