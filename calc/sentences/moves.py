"""What is said of refrigerant that moves, in English: warnings before an amount is noted, leak rules, by weight.

Each warning says what is wrong and what to do. Where amounts come twice, the second form stands among other warnings,
and the question is asked once behind all of them.
"""

_SUM = "With {move} this visit comes to {sum}, and {plate}."
_SUM_OUT = "With {move} this visit comes to {sum} out, and {plate}."
_IN_ONE_GO = "{move} in one go, and {plate}."

SENTENCES: dict[str, str] = {
    # --- an amount that is unlikely
    "amount.in_one_go": f"{_IN_ONE_GO} Is that what the scale says?",
    "amount.sum": f"{_SUM} Is that so?",
    "amount.sum_out": f"{_SUM_OUT} Is that so?",
    "amount.noted_by_hand": "{by_hand} was noted {hand_ago} min ago. Is this another one?",
    "guard.noted_by_hand": "{by_hand} was noted {hand_ago} min ago: if the scale saw that same refrigerant, this would "
    "count it twice. Touch Not so then.",
    "guard.in_one_go": f"{_IN_ONE_GO} Look at the scale.",
    "guard.sum": f"{_SUM} Stop and think: what is it that takes more than the nameplate has?",
    "guard.sum_out": f"{_SUM_OUT} Look at the scale.",
    # --- what is told before an amount is noted, all that holds together
    "question.hands_in_the_panel": "This needs hands in the panel, and since there was last power these do not stand "
    "as met: {checks}. Lock it, prove it dead and discharge first. Shall it be noted all the same?",
    "question.no_photograph": "{check} was not taken before the first lead was off, so that nothing shows how the "
    "panel was: hold the leads against the diagram. Shall it be noted as closed all the same?",
    "question.rest_while_it_runs": "By what the rig reads it runs now, or draws current: {what}. Is that what was read "
    "before it started, and not what stands there now?",
    "question.stands_by_its_amps": "By what the rig reads the {motor} stands now: {found}. Is this what was read while "
    "it ran?",
    "question.stands": "By what the rig reads the {motor} does not run now. Is this what was read while it ran?",
    "question.all_the_same": "{said} Shall it be noted all the same?",
    "question.refused": "{said}",
    "guard.other_refrigerant": "Cylinder {cylinder} holds {content}, and this circuit runs on {refrigerant}: never "
    "mix. Close the cylinder and the hose's valve at the unit, recover what the hose holds, and take one of "
    "{refrigerant}. If any went in, recover all of it into a cylinder of its own, and leave a note of how much.",
    "guard.other_refrigerant_out": "Cylinder {cylinder} holds {content}, and what comes out of this circuit is "
    "{refrigerant}: never mix. Stop, and take an empty recovery cylinder, or one of {refrigerant}.",
    "guard.no_phase": "The phase is missing: liquid or vapour, as it left the cylinder. Look how the cylinder stands, "
    "and say which.",
    "guard.stop_stands": "{stop_by} asked to stop {stop_ago} min ago, and has not said go on: “{stop_why}”. Touch "
    "nothing more until they do.",
    "guard.panel_open": "{name} burns ({safety_class}), and the electrical cover is noted as not closed: stop the "
    "refrigerant, close the cover, and note that before anything moves.",
    "guard.panel_unknown": "{name} burns ({safety_class}), and nobody has noted the electrical cover as closed: no "
    "live part may be exposed while refrigerant moves. Close it, and note that first.",
    "guard.panel_open_found": "By what was found in it, it may burn, and the electrical cover is noted as not closed: "
    "stop the refrigerant, close the cover, and note that before anything moves.",
    "guard.panel_unknown_found": "By what was found in it, it may burn, and nobody has noted the electrical cover as "
    "closed: no live part may be exposed while refrigerant moves. Close it, and note that first.",
    "guard.runs_in_vacuum": "The compressor runs, and the gauge reads {pressure}: in a vacuum it arcs and burns out. "
    "Switch it off now; start it only with refrigerant in it.",
    "guard.cylinder_full": "With {amount}, cylinder {cylinder} holds {held}; at most {most} is safe. Stop, close it "
    "and take another one: full of liquid it bursts as it warms.",
    "guard.not_for_recovery": "Cylinder {cylinder} is none for recovery, and a disposable one is never filled again. "
    "Stop, and take a recovery cylinder that is in date and rated for the pressure.",
    "guard.runs_into_vacuum": "By weight it goes into a vacuum, and the compressor runs: switch it off, and weigh it "
    "in as liquid on the liquid side. Start it only once it is in.",
    "guard.liquid_at_rest": "Liquid into the suction side of a compressor that is off lies in it and breaks it at the "
    "start. Into a vacuum take the liquid side; else start it, and meter the liquid in slowly.",
    "guard.liquid_side_runs": "The compressor runs, and its high side presses harder than a cylinder: refrigerant "
    "flows into the cylinder, which bursts if it fills up. Close the cylinder now. Add on the suction side, metered "
    "in.",
    "guard.unknown_content": "Nobody has said what cylinder {cylinder} holds: never mix. Stop until it is known, and "
    "take one whose label says {refrigerant}.",
    "guard.noted_by_both": "{other} noted {noted} into this circuit {noted_ago} s ago. If that is the same "
    "refrigerant, do not note it twice: agree who of you notes what goes in.",
    "guard.noted_by_both_out": "{other} noted {noted} out of this circuit {noted_ago} s ago. If that is the same "
    "refrigerant, do not note it twice: agree who of you notes what comes out.",
    "guard.leak_open": "A leak was found at this circuit on {leak_day}, and no repair is noted: repair it before any "
    "refrigerant goes in.",
    "guard.added_before": "Added at {visits} visits with this one, the last time on {added_day}: find the leak first. "
    "A closed circuit uses none up.",
    "guard.heats": "The unit heats: no figure of cooling tells what it lacks. Go by the maker's heating chart, or by "
    "weight: recover, evacuate, weigh in the nameplate's charge.",
    "guard.advised_out": "The advice is to recover, and this is added: read the advice again before any more goes in.",
    "guard.advised_in": "The advice is to add, and this is recovered: read the advice again before any more comes out.",
    "guard.nothing_to_move": "The advice is: {headline}",
    "guard.leaks_first": "The advice is to look for leaks before any is added, and nobody has noted that they did.",
    "guard.vapour_of_blend": "{name} is a blend: its vapour has another make-up than its liquid, and so has what stays "
    "in the cylinder. Take it out of the cylinder as liquid, metered in slowly.",
    "guard.never_settled": "The unit runs, and its {figure} has not settled at this visit: what it needs is not known "
    "yet. Wait until it has settled, and take a reading first.",
    "guard.not_settled_since": "The last amount moved {ago} min ago, and the {figure} has not settled since: what it "
    "needs now is not known yet. Wait until it has settled.",
    "guard.too_soon": "The last amount moved only {ago} min ago, and makers ask for a wait of 5 to 15 min. Wait, and "
    "read again.",
    # --- which rule on leaks covers a circuit
    "leak_rule.none": "No federal leak rule covers this circuit, because {ozone} (40 CFR 82.157), and {substitute} "
    "(84.106). Local rules may ask for more.",
    "leak_rule.no_ozone": "{refrigerant} depletes no ozone",
    "leak_rule.below_50_lb": "its full charge of {charge} is below {fifty}",
    "leak_rule.ozone": "{refrigerant} is ozone-depleting",
    "leak_rule.low_potential": "the warming potential of {refrigerant} is {potential}, not above 53",
    "leak_rule.below_15_lb": "its full charge of {charge} is below {fifteen}",
    "leak_rule.left_out": "residential and light commercial comfort cooling is left out",
    "leak_rule.covers_ozone": "40 CFR 82.157 covers this circuit: {charge} of {refrigerant}, which depletes ozone. Its "
    "leak rate is due each time refrigerant is added.",
    "leak_rule.covers_substitute": "40 CFR 84.106 covers this circuit: {charge} of {refrigerant}, whose warming "
    "potential is {potential}. Its leak rate is due each time refrigerant is added.",
    "leak_rule.ask_owner": "Ask the owner: with {charge} of {refrigerant} 40 CFR 84.106 covers this circuit, unless it "
    "is residential or light commercial comfort cooling.",
    "leak_rule.no_charge": "Whether a federal leak rule covers this circuit cannot be told: its full charge is not "
    "known. Read it off the nameplate.",
    "leak_rule.elsewhere": "What the law of {country} asks for about leaks is not told here: ask there.",
    # --- checks for leaks in the European Union
    "leak_check.every": "{charge} of {refrigerant} is {tonnes} t of CO2 equivalent: Regulation (EU) 2024/573 asks for "
    "a check for leaks every {months} months at least.",
    "leak_check.none": "{charge} of {refrigerant} is {tonnes} t of CO2 equivalent: Regulation (EU) 2024/573 asks for "
    "no regular check for leaks.",
    "leak_check.no_charge": "What Regulation (EU) 2024/573 asks for is not known: the full charge of this circuit is "
    "not recorded. Read it off the nameplate.",
    "leak_check.ozone": "{refrigerant} depletes ozone: what Regulation (EU) 2024/590 asks for is not told here.",
    "leak_check.again": "Refrigerant was added: look for leaks, and read the same figure again, by {day}.",
    # --- a charge by weight
    "by_weight.recover": "Recover what is left into a recovery cylinder, down to {level} (40 CFR 82.156, {row}), and "
    "see it stay there.",
    "by_weight.evacuate": "Where it was opened, test with nitrogen first. Evacuate, and see 500 micron (67 Pa) held "
    "for 20 min with the pump valved off, then stopped.",
    "by_weight.weigh_in": "Compressor off, as liquid on the liquid side: weigh in {left} more, {mass} in all. What no "
    "longer goes in at rest: shut the liquid side, start it as at any return of power, and meter the rest in slowly on "
    "the suction side, as liquid still where it is a blend.",
    "by_weight.weigh_in_unknown": "How much to weigh in cannot be told: no charge is known. Read it off the nameplate.",
    "by_weight.done": "All of it is in: {mass}. Shut the cylinder, and the hose at the liquid port, first. Then let "
    "it run, wait until it has settled, and read it.",
}
