"""Every sentence of judging, in English: a pattern for each kind, and a word for each term."""

from calc.sentences import moves, scales, starts
from calc.vacuum import NO_VOLTAGE

JOINT = " and "

_AT_REST = (
    "Stop the unit at its thermostat, blower left on, until both sides are one steady pressure, and compare it with "
    "saturation at the colder of outdoor and return air: above it there is air, or another refrigerant than the plate "
    "says."
)

_START_IT = "start it only when nobody is at it, every lock is taken off by whoever put it on, and panels are closed"

_RENEW_IT = (
    "recover all of it, find where air came in, test with nitrogen, evacuate, and weigh in the nameplate's charge and "
    "what the lines hold"
)

_SHELL = (
    "measure the bottom of the shell by probe or infrared, never by hand, terminal cover on: cold or sweating is liquid"
)
"""Common practice, no source."""

SENTENCES: dict[str, str] = {
    **scales.SENTENCES,
    **starts.SENTENCES,
    **moves.SENTENCES,
    "as_it_stands": "{said}",
    # --- what to do now
    "headline.alarm": "{Acts}: {kinds}.",
    "headline.add_instrument": "Add an instrument for the {channel}: {figure} needs it.",
    "headline.connect": "Connect the {instrument}: no {channel}.",
    "headline.elsewhere": "No {figure} while the {channel} does not read this circuit. Watch the rest.",
    "headline.check_pressure": "Check the pressure: no {figure} follows from it.",
    "headline.late": "Wait for fresh readings.",
    "headline.doubt": "Check the {channels}.",
    "headline.lead_stopped": "{lead} asked to stop: touch nothing more until {lead} says go on.",
    "headline.at_rest": f"The compressor does not run: if nobody stopped it, find out why; {_START_IT}.",
    "headline.stalled": "It tried to start {ago} and stalled: off at the disconnect, and lock it. Proved dead and "
    "discharged, look at the run capacitor first, where it has one, then start gear, then windings, also to the case. "
    "Only where those are sound, and with leads placed while it is dead, let it try once more and read its volts. What "
    "its maker says comes first.",
    "headline.pumped_not": "It drew current and did not pump {ago}: leave it off until its leads are exchanged, or "
    "another cause is found.",
    "headline.pumps_not": "Switch it off now: the compressor draws current and does not pump.",
    "headline.refrigerant_in_air": "Refrigerant in the air: {found}. Stop moving it: shut the valve in your hand. Open "
    "no panel, touch no switch; ventilate by what needs none; find the leak.",
    "headline.starts": "It starts: see that the pressures part; if not in 15 s, switch it off.",
    "headline.not_parting": "The compressor draws {amps} and the pressures do not part: hand at the disconnect.",
    "headline.vacuum": "In a vacuum, or nearly: do not start it. Switch it off at the disconnect and lock it until "
    "refrigerant is in.",
    "headline.vacuum_live": "In a vacuum with power on: off at the disconnect now, and lock it until refrigerant is "
    "in. A timer may start it.",
    "headline.falling": "The pressure still falls: do not start it. If a machine draws on it, stop the machine, and "
    "see whether it rises: liquid that boils stands cold, far below what it comes to.",
    "headline.rising": "The pressure still rises: do not start it. Only once it stands it tells whether any liquid is "
    "left.",
    "headline.open_or_empty": "The pressure is the air's own: are the hoses on, cores pressed, service valves open? If "
    "so, next to nothing is in it: do not start it.",
    "headline.empty": "Next to nothing is in it: do not start it. Find the leak, unless it was taken out; test with "
    "nitrogen, evacuate, weigh in.",
    "headline.at_rest_waited": "At rest for its check: leave it off until the pressure can be read.",
    "headline.at_rest_read": f"The check at rest is read: {_START_IT}.",
    "headline.at_rest_higher": "Leave it off: the pressure at rest is higher than this refrigerant has there.",
    "headline.heating": "It heats: judge its charge by the maker's heating chart, or weigh it in. Move nothing by the "
    "figures of cooling.",
    "headline.defrost": "Wait: it defrosts. Judge nothing meanwhile.",
    "headline.not_steady": "Wait. Not steady yet.",
    "headline.still_settling": "Wait. Still settling.",
    "headline.not_weighed": "Check the readings: one is beyond all physics.",
    "headline.another_cause": "Leave the charge alone: most likely {fault} ({chance}).",
    "headline.renew": "Most likely {fault} ({chance}): the charge is to be renewed. Bleed nothing off.",
    "headline.condition": "Not the charge yet: see to the {condition} first.",
    "headline.no_target": "Settled. {Figure} {value}; no target is known.",
    "headline.some_cause": "Not the charge yet: look for {fault} first.",
    "headline.you_judge": "You judge.",
    "headline.held_back": "Not the charge yet: first rule out {fault}.",
    "headline.right_yet": "Leave the charge alone: the {figure} is right, yet {fault} would explain the rest.",
    "headline.no_charge": "Most likely {fault}. How much it takes cannot be said: no nameplate charge is known.",
    "headline.too_close": "These instruments cannot tell whether the charge is right: compare them, or take better "
    "ones.",
    "headline.table_alone": "Not the charge yet: {figure} {value} is off the {target} {stands}, and hardly anything "
    "else is. Read the nameplate again, and the maker's own charging chart; where there is none, weigh the charge in.",
    "headline.add": "Add {mass} as {phase}, note it here, and wait until it has settled.",
    "headline.add_first": "First look for leaks; then add {mass} as {phase}, note it here, and wait until it has "
    "settled.",
    "headline.add_ice": "First look for ice on the coil; then add {mass} as {phase}, note it here, and wait until it "
    "has settled.",
    "headline.add_first_ice": "First look for ice on the coil, and for leaks; then add {mass} as {phase}, note it "
    "here, and wait until it has settled.",
    "headline.several": "Add nothing yet: most likely {together} together ({chance}).",
    "headline.recover": "Recover {mass}, note it here, and wait until it has settled.",
    "headline.recover_liquid": "Recover {mass} as liquid, from the liquid line, note it here, and wait until it has "
    "settled.",
    "headline.recover_added_liquid": "Recover {mass} as liquid, from the liquid line, of what was added since the "
    "{figure} was right, note it here, and wait until it has settled.",
    "headline.recover_added": "Recover {mass} of what was added since the {figure} was right, note it here, and wait "
    "until it has settled.",
    "headline.within_instruments": "Within what these instruments can tell{known}: {figure} {value} against {target} "
    "{stands}.",
    "headline.near_enough": "Near enough{known}: {figure} {value} against {target} {stands}.",
    "headline.verified": "The charge is right{known}: {figure} {value} against {target} {stands}.",
    "headline.as_near": "As near as this figure tells{known}: {figure} {value} against {target} {stands}.",
    # --- of a unit with several circuits
    "headline.as_near_of": "Circuit {circuit}: as near as this figure tells{known}: {figure} {value} against {target} "
    "{stands}.",
    "headline.as_near_so_far": "Circuit {circuit}: as near as this figure tells{known}. Circuit {other} is not "
    "measured: move the probes.",
    "headline.as_near_of_unlisted": "Circuit {circuit}: as near as this figure tells{known}. Counted at the unit, not "
    "in its sheet and not read: {more} more. Add them under Units, and read each.",
    "headline.as_near_unlisted": "The circuit that is read: as near as this figure tells{known}. Counted at the unit, "
    "not in its sheet and not read: {more} more. Add them under Units, and read each.",
    "headline.within_instruments_of": "Circuit {circuit}: within what these instruments can tell{known}: {figure} "
    "{value} against {target} {stands}.",
    "headline.near_enough_of": "Circuit {circuit}: near enough{known}: {figure} {value} against {target} {stands}.",
    "headline.verified_of": "Circuit {circuit}: the charge is right{known}: {figure} {value} against {target} "
    "{stands}.",
    "headline.within_instruments_so_far": "Circuit {circuit}: within what these instruments can tell{known}. Circuit "
    "{other} is not measured: move the probes.",
    "headline.near_enough_so_far": "Circuit {circuit}: near enough{known}. Circuit {other} is not measured: move the "
    "probes.",
    "headline.verified_so_far": "Circuit {circuit}: the charge is right{known}. Circuit {other} is not measured: move "
    "the probes.",
    "headline.within_instruments_of_unlisted": "Circuit {circuit}: within what these instruments can tell{known}. "
    "Counted at the unit, not in its sheet and not read: {more} more. Add them under Units, and read each.",
    "headline.near_enough_of_unlisted": "Circuit {circuit}: near enough{known}. Counted at the unit, not in its sheet "
    "and not read: {more} more. Add them under Units, and read each.",
    "headline.verified_of_unlisted": "Circuit {circuit}: the charge is right{known}. Counted at the unit, not in its "
    "sheet and not read: {more} more. Add them under Units, and read each.",
    "headline.within_instruments_unlisted": "The circuit that is read: within what these instruments can tell{known}. "
    "Counted at the unit, not in its sheet and not read: {more} more. Add them under Units, and read each.",
    "headline.near_enough_unlisted": "The circuit that is read: near enough{known}. Counted at the unit, not in its "
    "sheet and not read: {more} more. Add them under Units, and read each.",
    "headline.verified_unlisted": "The circuit that is read: the charge is right{known}. Counted at the unit, not in "
    "its sheet and not read: {more} more. Add them under Units, and read each.",
    "known.not": "",
    "known.within": ", to ± {within} %",
    "known.widely": ", ± {within} % of the full charge",
    # --- what speaks for it
    "detail.circuit": "Circuit {circuit}.",
    "detail.settled": "Settled. {Figure} {value} against {target} {stands}.",
    "detail.heating": "Not judged while it heats: the charge, what may be wrong with the circuit, the split of the "
    "air, a formal verification. All of those are for cooling. Still watched: floodback, the amps, and the head, held "
    "against the return air, in which it condenses now.",
    "detail.defrost": "The circuit is turned to cooling and the outdoor fan stands, as in a defrost. If that lasts for "
    "longer than 15 min, look why the fan stands.",
    "detail.within": "Within {limit} of the target ({chance}; {source}).",
    "detail.beyond": "More than {limit} {side} the target ({chance}; {source}).",
    "detail.cannot_tell": "These instruments cannot tell whether it is within {limit} of the target ({source}).",
    "detail.better_instrument": "Whether it is within {limit} of the target ({source}), they cannot tell: a better "
    "instrument for the {channel} would tell more.",
    "detail.to_target": "Who is adding anyway goes on to the target, and does not stop at the edge of the tolerance; "
    "but never above the nameplate's charge, with what the maker adds to it for the line set.",
    "detail.charge_short": "By this figure some {off} % of the charge is missing, ± {share} %: closer than that it "
    "cannot tell.",
    "detail.charge_over": "By this figure some {off} % of the charge is too much, ± {share} %: closer than that it "
    "cannot tell.",
    "detail.weigh_in": "That table is one for all makers: the maker's own charging chart tells more, and weighing the "
    "charge in is what makes it exact.",
    "detail.may_add": "Up to {mass} may be added as {phase}: that would not overshoot.",
    "detail.may_recover": "Up to {mass} may be recovered: that would not overshoot.",
    "detail.until_verdict": "This is an exercise: what the rig advises is held back until the verdict.",
    "detail.no_more": "No more is due by them.",
    "detail.may_recover_liquid": "Up to {mass} may be recovered, as liquid from the liquid line: that would not "
    "overshoot.",
    "detail.rest_waited": "To see whether there is air in it, leave it at rest for {of} min: the pressure should come "
    "to {expected}, which is saturation at the {air} of the {beside}.",
    "detail.rest_waited_indoors": "To see whether there is air in it, leave it at rest for {of} min, blower on: the "
    "indoor coil is the colder one, and the pressure should come down to {expected}, which is saturation at the {air} "
    "of the {beside}.",
    "detail.rest_no_air": "At rest {found}, expected {expected} at the {air} of the {beside}: no air is seen. "
    "Half a circuit of it would hardly show.",
    "detail.rest_a_little": "At rest {found}, expected {expected} at the {air} of the {beside}. Its saturation is "
    "higher by {over}: sun and wind do as much, and so does a little air.",
    "detail.rest_no_air_outdoors": "At rest {found}, expected {expected} at the {air} of the {beside}: no air is seen, "
    "if the indoor coil is no colder than that. A probe in the return air would tell.",
    "detail.rest_higher": "At rest {found}, expected {expected} at the {air} of the {beside}. Its saturation is higher "
    "by {over}: air, another refrigerant than the plate says, or a probe that is off.",
    "detail.rest_found_air": f"If it stays once the probe is seen to be right in open air: {_RENEW_IT}. Bleed "
    "nothing off.",
    "detail.rest_lower": "At rest {found}, expected {expected} at the {air} of the {beside}. Its saturation is lower "
    "by {under}: something colder has drawn the refrigerant, none of it is liquid, or it is not the one on the plate. "
    "That tells nothing of air.",
    "detail.rest_not_one": "At rest the two sides have not come to one steady pressure: wait on, or check the probes. "
    "Expected are {expected} at the {air} of the {beside}.",
    "detail.stopped_in_alarm": "It stopped while an alarm stood: find its cause before you start it.",
    "detail.protector": "Its own protector closes by itself as it cools: it starts again without warning.",
    "detail.pumps_not": f"On three phases it may turn backwards. {starts.TURNED}",
    "detail.empty": "At rest {found}; any liquid in it, as warm as the {air} of the {beside}, would stand at "
    "{expected}. What a machine draws on boils colder: stop it first, and see whether the pressure stands. See that "
    "hoses are on, cores pressed and service valves open: behind a shut valve nothing shows.",
    "detail.target_source": "The target: {source}.",
    "detail.ice": "The coil is below freezing (dew point {dew_point}): look for ice. With ice on it nothing can be "
    "judged: compressor off, blower on, until it has thawed; then find out why.",
    "detail.plate_again": "Before the first of it read the plate again: {refrigerant}.",
    "detail.plate_again_target": "Before the first of it read the plate again: {refrigerant}, {figure} {target}.",
    "detail.in_all": "It takes some {needed} in all, likely {likely}.",
    "detail.in_all_largest": "It takes some {needed} in all, likely {likely}; in steps, for no step is larger "
    "than 12 % of the charge.",
    "detail.in_all_trial": "It takes some {needed} in all, likely {likely}; so little first, to see whether the unit "
    "answers: behind a restriction it hardly does.",
    "detail.in_all_overshoot": "It takes some {needed} in all, likely {likely}; in steps: even where little is "
    "missing, this one ends within the tolerance.",
    "detail.heading": "{figure} is heading for {value}, {ahead}.",
    "detail.because": "{figure}: {reason}.",
    "detail.silent": "Silent meanwhile: alarms by the {channels}.",
    "detail.unknown": "{figure}: not known.",
    "detail.since": "{figure}: {since}.",
    "detail.late": "{figure}: an instrument is late.",
    "detail.live_under_lock": "The rig reads power, and nobody has said that the lock is off: hands and tools out, "
    "keep clear, it may start by itself. A lock comes off by whoever put it on; say so once it is.",
    "detail.start_delay": "Makers ask for 5 min between stop and start. If it has power and a call, a delay timer may "
    "hold it and let go {left}, and then it starts by itself: keep clear, do not bridge it.",
    "detail.first_forecast": "The first forecast comes {ahead}.",
    "detail.formal": "A formal verification waits {of} min after the start and every change: it may be made {ahead}.",
    "detail.open": "Still open for a formal verification: {conditions}.",
    "detail.finish": "Then take a final reading, shut and empty the hoses and take them off, check the cores, put the "
    "caps on with their seals, look for leaks, close the unit up.",
    "detail.above_rla": "Amps {load} times RLA. RLA is no limit, but look at volts, head and air.",
    "detail.not_ruled_out": "Unlikely, but not ruled out: {faults}.",
    "detail.not_judged": "Not judged by these readings: {what}.",
    "detail.known_unit": "Compared with what this unit itself read when all was right; the charge, with its target.",
    "detail.unknown_unit": "No cause is likelier than all others together: nothing is recorded yet of what this unit "
    "reads when it is right.",
    "detail.alarm_in_doubt": "In doubt, but if it is so: {alarm}",
    # --- how long a wait is
    "ahead.now": "shortly",
    "ahead.seconds": "in {number} s",
    "ahead.minutes": "in {number} min",
    # --- and how long something lies back
    "ago.now": "just now",
    "ago.minutes": "{number} min ago",
    # --- why nothing can be said of an end yet
    "not_steady.just_begun": "too little has been seen for a forecast",
    "not_steady.just_changed": "it jumped {seconds} s ago: something was changed",
    "not_steady.starting": "it moved far within {seconds} s, by {swing}: a start, or a probe just put on",
    "not_steady.hunting": "it swings every {seconds} s, by {swing}: the valve hunts",
    "not_steady.cycling": "it swings every {seconds} s, by {swing}: the unit cycles",
    "not_steady.jumping": "it jumped {times} times: something starts and stops",
    "not_steady.swinging": "it swings about any steady course, by {swing}",
    "not_steady.drifting": "no end in sight yet",
    "since.moved": "refrigerant was moved, so everything settles anew",
    "since.measured_anew": "it is measured otherwise now",
    "since.put_right": "something was put right, so everything settles anew",
    "since.hose": "a hose was on a port of the probes, so everything settles anew",
    "since.placed": "the probes are on another circuit, so it is judged anew",
    "sign.hose_open": "A hose still stands open at the {port} port. Shut it, empty it and take it off first; or sign "
    "with it as it is.",
    "sign.name": "{name} stands for it.",
    "sign.judge_says": "Of the charge the judge says:",
    "sign.checks_open": "Still open: {checks}. Sign with it as it is?",
    "sign.more_checks_open": "Still open: {checks}, and {more} more. Sign with it as it is?",
    "pattern.runs": "A pattern of the fan is running and over {over}; somebody at the thermostat goes by its list. "
    "Give another in its place?",
    "open.hose_open": "A hose still stands open at the {port} port of {unit}. Shut it at the cylinder and at the port "
    "at the least before you leave it. Go on all the same?",
    "open.unsigned": "The visit to {unit} is still open: nobody has signed it. End it as it is, unsigned, and begin "
    "another?",
    "visit.opened_by_another": "{by} opened {unit} {minutes} min ago, and this does not say for which unit it is "
    "meant. Is it for {unit}?",
    "visit.left": "By the clock of the rig nobody recorded anything at {unit} for {hours} h, and nobody has signed "
    "that visit. Is this still the same one? If not, begin another first. If so, look at every lock, and prove dead "
    "and discharge again before a hand goes in.",
    "visit.exchanged_by_another": "{by} gave the name {circuit} to another circuit {minutes} min ago. Is this meant "
    "for the one that is called {circuit} now?",
    "since.interrupted": "reading was interrupted for too long, so it is judged anew",
    # --- reasons to stop
    "alarm.floodback": f"Hardly any superheat: liquid may reach the compressor. Stop adding; {_SHELL}; if it "
    "stays, stop the unit. Below zero, check probe (gauge or absolute) and clamp, too.",  # of earlier records
    "alarm.little_superheat": "Superheat {found}: liquid may reach the compressor. Add nothing; "
    f"{_SHELL}; if it "
    "stays, stop the unit.",
    "alarm.below_dew_point": "Superheat {found}: liquid may reach the compressor. Add nothing; "
    f"{_SHELL}; if it "
    "stays, stop the unit. Below zero, check the probe (gauge or absolute) and the clamp, too.",
    "alarm.near_design_pressure": "The head is near the design pressure. Add nothing. Shut the unit down if it does "
    "not fall at once; lock out before you touch the fan.",
    "alarm.condenses_too_warm": "It condenses far above the outdoor air. Add nothing. Shut the unit down if the head "
    "does not fall at once; lock out before you touch the condenser or its fan.",
    "alarm.condenses_too_warm_indoors": "It condenses far above the air indoors. Add nothing. If it heats, look at "
    "filter, blower and registers; if it cools, at the condenser and its fan, locked out. Shut the unit down if the "
    "head does not fall at once.",
    "alarm.compressor_current": "The compressor draws far more than its rated load amps. Add nothing; shut the unit "
    f"down if it stays. {starts.LOCKED_OUT}: supply, capacitor and contactor.",
    "alarm.discharge_line": "The discharge line reads {found}: its oil breaks down. Stop the unit; find out why: too "
    "little refrigerant, a restriction, a foul condenser, worn valves. The maker's figure comes first. It burns skin.",
    "alarm.refrigerant_in_air": "Refrigerant in the air, {found}: a quarter of what ignites, or more. Shut the "
    "valve in your hand if you can; leave; keep others away: no switch, no plug, no flame; ventilate only by what "
    "needs none.",
    "alarm.cylinder": "The cylinder holds as much as it may. Stop recovering; take another one.",
    "alarm.at_least": "{found}; at least {limit}",
    "alarm.at_most": "{found}; at most {limit}",
    # --- what would settle whether it is this cause: from the trade's fault tables; the check at rest from memory
    "check.nothing_wrong": "Leave the charge alone. Look for the complaint elsewhere: capacitor, contactor, lugs, "
    "supply, thermostat, ducts, load.",
    "check.nothing_else": "Look for the complaint elsewhere, too: capacitor, contactor, lugs, supply, thermostat, "
    "ducts, load.",
    "check.undercharge": "First look for oil and leaks: a unit does not use refrigerant up. Where one is "
    "found, its repair comes before any refrigerant.",
    "check.overcharge": _AT_REST,
    "check.overcharge_alone": "Recover in small steps; ask what was added, and when: a unit does not make refrigerant.",
    "check.low_evaporator_airflow": "Filter, coil, blower wheel and its amps, dampers, registers.",
    "check.condenser_fouling": "Coil face, fan blade and its direction, fan motor and run capacitor, its own hot "
    "air drawn in again.",
    "check.restriction": "Measure with a clamp on either side of the drier and of the strainer: a fall of temperature "
    "there is the restriction; none does not rule one out. The screen of the metering device only once the refrigerant "
    "is recovered.",
    "check.valve_leakage": "Compare amps and capacity with the maker's table; look whether the pressures equalize at "
    "once when it stops.",
    "check.non_condensables": _AT_REST,
    "check.non_condensables_open": "The pressure at rest leaves it open: read it again out of the sun, blower on. If "
    "it stays open, weighing the charge in afresh settles it.",
    "check.non_condensables_untold": "The pressure at rest was too low to tell of air. Weighing the charge in afresh "
    "settles it.",
    "check.non_condensables_seen": "The pressure at rest shows it. See in open air that the probe is right; then "
    f"{_RENEW_IT}.",
    "check.overfeeding": "Look at the valve's bulb first: its place on the pipe, its strap, its insulation; then at "
    "the valve's size and its superheat setting.",
    "check.several": "Put right what has to do with air first, then measure again.",
    "check.instrument_off": "Hold another instrument beside each one, and check the pressures in open air.",
    "check.instrument_off_pipe": "Hold a second clamp beside the one of the {channels}, on the same pipe: bare metal, "
    "both wrapped, out of the sun and of the fan's air. Note it as a check of that instrument.",
    "check.instrument_off_pressure": "Check the {channels} in open air, once its hose is off and empty: there it must "
    "show none but the air's. Note it as a check of that instrument.",
    "check.instrument_off_air": "Hold another instrument beside the one of the {channels}, out of the sun and of the "
    "fan's own air.",
    "check.instrument_off_current": "Check the {channels}: jaw closed on one conductor alone, then on nothing, where "
    "it must show none. Note it as a check of that instrument.",
    "check.not_one_of_these": "Check the instruments: which port, which pipe, gauge or absolute, which refrigerant.",
    # --- why a wrong charge is not blamed yet
    "held_back.rest_may_hide_air": "By its figures it may hold air just as well, and a pressure at rest shows little "
    f"of it: take nothing out by subcooling. What is right either way: {_RENEW_IT}.",
    "held_back.found": "Put right what was found first: {fault}. Then let it settle, and read again.",
    "held_back.whole_charge": "What was added comes to the nameplate's charge: add no more. Look for leaks and what "
    f"else holds the figure off. What is right either way: {_RENEW_IT}.",
    "held_back.unseen": "First rule out {fault}: measure {measure}.",
    "held_back.low_evaporator_airflow": "First rule out low evaporator airflow.",
    "held_back.condenser_fouling": "First rule out condenser fouling or low outdoor airflow.",
    "held_back.restriction": "First rule out a liquid-line restriction.",
    "held_back.non_condensables": "First rule out non-condensables.",
    "held_back.valve_leakage": "First rule out compressor valve leakage.",
    "held_back.overfeeding": "First rule out an expansion valve that feeds too much.",
    "held_back.instrument_off": "First see that the instrument of the {channels} is right.",
    # --- what a formal verification says
    "verdict.not_yet": "Not yet: {open} of {every} conditions open.",
    "verdict.cannot_tell": "Yes, but these instruments cannot tell.",
    "verdict": "Yes: the charge is {state}, by its {figure} alone ({chance}).",
    # --- an amount that is unlikely, or cannot be
    "amount.added": "{amount} added",
    "amount.recovered": "{amount} recovered",
    "amount.corrected": "a correction to {amount}",
    "amount.withdrawn": "a correction to nothing",
    "refusal.recorded_before": "Recorded before under this id: {what}. Correct that, or ask again under a new one.",
    "refusal.used_before": "This id was used for something else; ask again under a new one.",
    "amount.plate": "the nameplate's charge is {charge}",
    "amount.no_plate": "no nameplate charge is known",
    "amount.impossible": "{move}: {plate}, and no unit of this size takes that. Look at the scale.",
    "amount.impossible_out": "{move}: {plate}, and no unit of this size holds that. Look at the scale.",
    # --- what a guided check found
    "finding.met": "{What}: {found}; {limits}.",
    "finding.not_met": "{What}: {found}, and not {limits}.",
    "finding.cannot_tell": "{What}: {found}, too near to tell whether it is {limits}. {trick}",
    "finding.chosen": "{What}: {chosen}.",
    "finding.all_chosen": "{All}.",
    "finding.too_little": "{What}: {found}, which cannot be; at least {low} was expected.",
    "finding.too_much": "{What}: {found}, which cannot be; at most {high} was expected.",
    "finding.not_whole": "{What}: {found}; a whole number was expected.",
    "finding.until_verdict": "Kept as it was found. What it means is yours to judge, until the verdict.",
    "finding.missing": "Still missing: {what}.",
    "finding.none_of_these": "By the pattern of the fan it is none of these: {none}. Look for another unit.",
    "finding.pattern_cannot_tell": "The pattern of the fan cannot tell: none of these, {none}. Give another, or read "
    "the tag.",
    "finding.count": "{What}: {found} of {due}.",
    "finding.not_settled": "{Figure} has not settled, by what the rig reads: {why}. Wait, and record it then.",
    "finding.too_fast_to_see": "It came up to speed, as far as is seen; how fast, the record is too slow to "
    "tell. That is not asked for again.",
    "finding.conditions_differ": "{What} was {was} at the readings before, and is {found}: say that the conditions "
    "differ, and how.",
    "finding.not_as_read": "{Figure}: {found} is said, and the rig reads {read} now. Record what it reads.",
    "unsettled.moves": "it still moves, and should stand {left}",
    "unsettled.more_later": "{reason}; more can be told {left}",
    "unsettled.not_at_work": "it stands still while the unit does not work as it should",
    "unsettled.at_rest": "the unit is at rest, and nothing settles there",
    "unsettled.unknown": "nothing tells yet where it will stand",
    "finding.live_dead_live": "Live-dead-live on {count} of {of} pairs.",
    "finding.live_dead_live_missing": "Live-dead-live on {count} of {of} pairs. Still missing: {what}.",
    "finding.rig_live": "Your own voltmeter reads {found} on {what}: it is live.",
    "finding.rig_draws": "The rig reads {found} at the {what}: it is not without power.",
    "finding.rig_awaited": "The rig has not read {what} since the lock was on: wait for its next reading, and record "
    "it then.",
    "finding.rig_unsaid": "Read at the unit before this one: {what}. Say under Probes, hoses that it is on this unit, "
    "or Off.",
    "finding.was_isolated": "It was isolated at this visit, or a lock stood: say who took it off.",
    "finding.lock_of_another": "{by} put the lock on and has not taken it off, by what is said here: hands off, switch "
    "it off again, and find {by} before anything else.",
    "finding.rig_runs": "The compressor runs, by what the rig reads: it is live.",
    "finding.rig_heats": "It heats, by what the rig reads: these figures are of cooling.",
    "finding.open_hoses": "Not above the air's pressure at rest: are hoses open, or cores not pressed?",
    "finding.purged_what_burns": "Evacuate the hose; purge nothing that burns.",
    "finding.rig_rests": "The compressor does not run, by what the rig reads.",
    "finding.pumps_nothing": "The compressor runs and pumps nothing: liquid stands {found} over suction. See to that "
    "first.",
    "finding.rig_presses": "The probe at the {what} port still reads {found}: it is not off, or the port is not shut. "
    "Once it is off and has moved on, say so under Probes, hoses.",
    "finding.stop_stands": "Something still asks for a stop: see to that first.",
    "finding.several_not_met": "{first} Not met either: {others}.",
    "finding.live": "{What}: {found}. It is live.",
    "finding.some_volts": "{What}: {found}, neither live nor gone: find where it comes from.",
    "finding.non_contact": "A non-contact tester alone does not prove it dead: it cannot test phase to phase. Take a "
    "meter with two leads, or a two-pole tester.",
    "finding.capacitor_open": "{What}: nothing, so it is open.",
    "finding.goes_next": "{What}: {found}, within its limits. {lost} of its label is lost since the last reading, "
    "{earlier}: it goes next, say so to the owner.",
    "finding.may_go_next": "{What}: {found}, within its limits. Since the last reading, {earlier}, it has lost {lost} "
    "of its label: whether that is the 5 % at which it goes next, these meters cannot tell.",
    "finding.other_part": "{What}: not as it was. It is not the part that came out.",
    "finding.winding": "{State}.",
    "finding.little_ohm": "Less than 0.5 ohm between two terminals: possibly shorted. Zero the leads and measure "
    "again; only the maker's table tells a short from a large motor.",
    "finding.leads_swapped": "The sum fits, but start reads less than run: see by the wiring diagram whether the two "
    "are exchanged.",
    "finding.no_fit": "{gauge} AWG is {fit}.",
    "finding.thinner": "{gauge} AWG is thinner than the {old} AWG that it replaces.",
    "finding.fits": "{gauge} AWG is within the terminal's range.",
    "finding.by_feel": "By feel, so nobody knows: take a torque tool.",
    "finding.do_not_run": "{What}: {found}. Do not run it on that: find the cause first.",
    "finding.far_above_rla": "{What}: {found}, more than 1.4 times its RLA of {rated}. Stop it.",
    "finding.above_rla": "{What}: {found}, by its RLA of {rated} or above. RLA is no limit: look at volts, head and "
    "air.",
    "finding.below_rla": "{What}: {found}, below its RLA of {rated}, which is no limit.",
    "finding.amps_as_expected": "{What}: {found}, as these conditions let expect: {expected}. Its RLA of {rated} is no "
    "limit.",
    "finding.amps_above_expected": "{What}: {found}, more than the {expected} that these conditions let expect: look "
    "at volts, head and air.",
    "finding.amps_below_expected": "{What}: {found}, less than the {expected} that these conditions let expect: a "
    "light load, low charge, leaking valves, or it turns backwards.",
    "finding.far_below_rla": "{What}: {found}, less than half of its RLA of {rated}: a light load, low charge, leaking "
    "valves, or it turns backwards.",
    "finding.single_phasing": "One leg carries next to nothing. Stop it at the disconnect, from its side, face "
    f"away, and do not start it again. {starts.LOCKED_OUT}: fuses, contactor and lugs; then the supply.",
    "finding.joint_met": "{What}: {found}, {milliohm} milliohm, {heat} of heat.",
    "finding.joint_not_met": "{What}: {found}, {milliohm} milliohm, {heat} of heat: this is the loose one.",
    "finding.stands_out": "{What}: {found}, more than twice what the others drop: this is the loose one.",
    "finding.open_before": "{What} left something open: see to that first.",
    "finding.agree": "{What} agree, {found} apart.",
    "finding.apart": "{What} do not agree, {found} apart: wait until it has rested, or check the probes.",
    "finding.over_the_plate": "{What}: {found}, and the nameplate's charge is {high}. Stop and think.",
    "finding.cores_under_probes": "The probes are on the cores still: look at them as they come off.",
    "finding.second_addition": "This circuit was added to before: find the leak before more is added.",
    "finding.nitrogen": "{State}. It should press with {expected} now; lost are {lost}.",
    "limits.at_most": "at most {high}",
    "limits.below": "below {high}",
    "limits.at_least": "at least {low}",
    "limits.between": "{low} to {high}",
    # --- what would tell, where the instruments cannot
    "trick.finer_meter": "A finer instrument, or one checked against a better one, tells more.",
    "trick.ten_turns": "Ten turns of the lead through the jaw, wound while it is locked out and proved dead, tell "
    "more; divide by ten.",
    "trick.under_load_or_finer": "Take a finer meter; or measure it under load, with ten turns through the jaw that "
    "are wound while it is locked out and proved dead.",
    "trick.zero_the_leads": "Zero the leads, clean the terminals and measure again.",
    "trick.faster_record": "A record of 20 readings a second, or a clamp that holds its peak, tells more.",
    "trick.one_meter_for_all": "One meter for all of them, in one go: what it is off by itself cancels.",
    "trick.torque_tool": "A torque tool that was checked lately tells more.",
    "trick.open_to_air": "Check both probes open to the air, then compare them again.",
    "trick.shaded_probe": "A probe in the shade, away from the condenser's own air, tells more.",
    "trick.same_temperature": "Read it again when the pipes are as warm as they were at first, or wait longer.",
    "trick.gauge_at_the_system": "A vacuum gauge at the system, not at the pump, and a longer wait tell more.",
    # --- a cylinder that is described
    "cylinder.another": "{name} was {use_before} of {before}, and would be {use_after} of {after}. Another "
    "cylinder has a name of its own: is it this one all the same?",
    # --- a unit that is described
    "sheet.charged_before": "{charge_before} of {refrigerant_before}",
    "sheet.charged_after": "{charge_after} of {refrigerant_after}",
    "sheet.held_before": "{refrigerant_before}, how much is not known",
    "sheet.held_after": "{refrigerant_after}, how much is not known",
    "sheet.changed": "{tag}, circuit {circuit}: it was {before}, and would be {after}. Is that what its nameplate "
    "says?",
    "sheet.gone": "{tag}, circuit {circuit}: it was {before}, and would be gone. Has the unit no such circuit?",
    "sheet.device_changed": "{tag}, circuit {circuit}: it had {device_before}, and would have {device_after}; which "
    "figure shows its charge depends on that. Is that what is fitted?",
    "sheet.target_changed": "{tag}, circuit {circuit}: its target {figure} was {target_before}, and would be "
    "{target_after}. Is that what its maker says?",
    "sheet.target_gone": "{tag}, circuit {circuit}: its target {figure} was {target_before}, and would be unknown. "
    "Does its maker name none?",
    "sheet.target_by_chart": "{tag}, circuit {circuit}: its target {figure} was {target_before}, and its charging "
    "chart would take the place of that. Is the chart printed for this unit?",
    "sheet.parts_gone": "{tag}: its sheet has {parts}, and would not have them any more. Has the unit none of them?",
    "sheet.plate_changed": "{tag}, {of}: another {plate} was read before, and alarms and findings go by it. Is that "
    "what its nameplate says?",
    "sheet.chart_changed": "{tag}, circuit {circuit}: its maker's charging chart was entered otherwise before, and the "
    "charge is judged by it. Is this what is printed?",
    "sheet.chart_unusual": "{tag}, circuit {circuit}: its charging chart has {superheat} at {wet_bulb} wet bulb and "
    "{outdoor} outdoors, and {next_superheat} at {next_wet_bulb} and {next_outdoor}. Published tables rise with the "
    "wet bulb and fall as it gets hotter outdoors. Is this what is printed?",
    "sheet.changed_since": "{tag}: somebody changed its sheet after this one was begun, and this one would undo or "
    "change: {undone}. Keep it in the place of theirs?",
    "tag.looks_like": "{tag} is not known, and {near} is, which looks like it. Is this another unit?",
    "tag.mistyped": "{tag} has a mistake in it: its check character does not fit. Is that what is engraved?",
    "tag.mistyped_near": "{tag} has a mistake in it: its check character does not fit. {near} is known. Is "
    "this another unit, and is that what is engraved?",
    # --- what a lead wants to be asked before, and what a question lacks
    "hold.first_move": "{hold_by} wants to be asked before the first refrigerant is moved{hold_why}. They have not let "
    "it go ahead.",
    "hold.each_move": "{hold_by} wants to be asked before each time refrigerant is moved{hold_why}. They have not let "
    "it go ahead.",
    "question.check_open": "“{about}” is not answered yet, and whoever answers will ask for it first. Send the "
    "question without it?",
    "question.not_measured": "Not measured: {lacking}. Without that the {about} is not known, and whoever answers will "
    "ask for it first. Send the question without it?",
    "question.in_doubt": "{asked_first} Whoever answers will ask for that first. Send the question without it?",
    "question.next_check": "{asked_first} Whoever answers will ask for that first. Send the question without it?",
    "amount.in_one_go": "{move} in one go, and {plate}. Is that what the scale says?",
    "amount.sum": "With {move} this visit comes to {sum}, and {plate}. Is that so?",
    "amount.sum_out": "With {move} this visit comes to {sum} out, and {plate}. Is that so?",
    # --- the conditions of a protocol
    "condition.met": "Met.",
    "condition.not_known": "Not known.",
    "condition.in_doubt": "It rests on a reading that is not to be relied on.",
    "condition.cannot_tell": "Too near the limit for these instruments to tell.",
    "condition.metering_device_unknown": "Find out which metering device it has: that decides which figure counts.",
    "condition.metering_device": "A unit with {device} is judged by {figure}.",
    "condition.brought_to_target": "It is being brought to its target, and is not there yet.",
    "condition.steady_since_arrival": "It ran and was steady when it was first seen, and nothing was moved since.",
    "condition.not_met.outdoor_air_temperature": "Too cold outdoors: weigh the charge in by the maker's instructions, "
    "or come back; some makers allow a winter set-up for subcooling from 37 °F (2.8 °C; California Title 24, RA1.2).",
    "condition.not_met.running_time": "Let it run on: for a formal verification the protocol waits longer than "
    "settling takes.",
    "condition.not_met.undisturbed_time": "Leave it alone: for a formal verification the protocol waits longer than "
    "settling takes.",
    "condition.not_met.suction_pressure_accuracy": "Take a better pressure instrument.",
    "condition.not_met.liquid_pressure_accuracy": "Take a better pressure instrument.",
    "condition.not_met.temperature_accuracy": "Take a better thermometer.",
    "condition.not_met.expansion_valve_superheat": "The valve lets its superheat fall too low: look first at its "
    "bulb, the bulb's strap and its insulation, then at the valve.",
    "condition.not_met.expansion_valve_superheat_high": "The valve is starved, or does not open: too little "
    "refrigerant, a restriction before it or ice on the coil make a good valve read so. Rule those out first.",
    "condition.not_met.target_superheat": "A target so low is no valid test: warm the space, or test at another time.",
    "condition.not_met.air_split": "The split is above its target, so the airflow is low: raise it first.",
    "condition.not_met.airflow_per_capacity": "The airflow is low: raise it first.",
    "condition.not_met.airflow_over_design": "The airflow is off its design: set it first.",
    "condition.split_below": "Met, but the split is below its target: average the air again; if it stays, the "
    "capacity is likely low.",
    "condition.late": "An instrument is late.",
    "condition.at_rest": "The unit is at rest.",
    "condition.settling": "It is still settling: wait.",
    "condition.alarm": "An alarm stands: see to that first.",
    "condition.not_weighed": "The causes are not weighed yet.",
    "condition.another_cause": "The most likely cause is {fault}.",
    "condition.some_cause": "First look for {fault}.",
    "measured.alone": "{found}",
    "measured.minutes": "{found} min",
    "measured.minutes_of": "{found} of {limit} min",
    "measured.at_least": "{found}; at least {low}",
    "measured.at_most": "{found}; at most {high}",
    "measured.between": "{found}; {low} to {high}",
    "measured.not_at_all": "",
    "evidence": "{found}, expected {expected}",
    # --- why there is no target, and what to do about it
    "no_target.beyond_table": "The table runs from {driest} to {most_humid} wet bulb and {coolest} to {hottest} "
    "outdoors: take the maker's chart.",
    "no_target.beyond_formula": "The formula stands in for the table, and that runs from {driest} to {most_humid} "
    "wet bulb and {coolest} to {hottest} outdoors: take the maker's chart.",
    "no_target.too_hot_and_dry": "The target would be below 5 °F (2.8 K), too hot and dry for a valid test: warm the "
    "space or come back.",
    "no_target.beyond_chart": "The maker's charging chart, as it was entered, runs from {driest} to {most_humid} wet "
    "bulb and {coolest} to {hottest} outdoors: enter more of it, or come back in other weather.",
    "no_target.blank_in_chart": "The maker's charging chart, as it was entered, is blank for this air: enter what is "
    "printed there; where that is blank too, it is no weather to charge by superheat: weigh the charge in.",
    "no_target.formula_too_low": "The formula gives less than 5 °F (2.8 K), which is no valid test.",
    "no_target.no_subcooling": "The nameplate's target subcooling is not given: read it there, or in the maker's "
    "charging chart.",
    "no_target.no_air": "Take the target from the maker's chart; to look it up in a table, the wet bulb of the "
    "return air and the outdoor temperature are needed.",
    # --- what to beware of at each step
    "caution.pressure_test": "Test for pressure with nitrogen, never with air or oxygen.",
    "caution.tested_last": "The test for pressure that counts comes after the last joint; then evacuate and weigh in.",
    "caution.regulator": "Dry nitrogen only, through a regulator set below the lowest test pressure on the nameplate, "
    "with a relief valve: never oxygen, never compressed air, which explode with oil.",
    "caution.caps_and_gauges": "Nobody in front of caps and gauges while it is under pressure.",
    "caution.let_off": "Let it off slowly and outdoors, or into ventilated space: it suffocates.",
    "caution.megohms": "Megohms only dead, with every lead off the winding: electronics die of the test voltage, 500 V "
    "or what the maker asks for. Terminal cover on: measure at the far ends of the leads, face aside: a terminal can "
    "blow out. Never while the compressor is in a vacuum: it arcs. Discharge the winding afterwards.",
    "caution.by_hand": "Only dead: a contactor is never pushed in by hand with power on.",
    "caution.stand_aside": "At a disconnect: its cover shut, stand to its side, face away. Stop the call first, where "
    "there is time.",
    "caution.power_back": "Before power comes back: hands and tools out, every wire on its terminal, panel on, nobody "
    "near the fan. Each lock is taken off by whoever put it on, and by nobody else. Where it has a crankcase heater "
    "and was without power for hours, leave the call off for as long as its maker says.",
    "caution.pump_outdoors": "Let the pump blow off outdoors, away from anything that ignites.",
    "caution.recovery_machine": "A recovery machine and cylinder rated for flammable refrigerant, grounded (earthed): "
    "air inside makes a mixture that ignites.",
    "caution.panel_closed": "Panel closed: no live part exposed while refrigerant moves.",
    "caution.room_limit": "How much a room may hold is for the product's standard, the maker and local codes: no "
    "formula here allows it.",
    "caution.leak_test": "Test for leaks after charging, and again before leaving.",
    "caution.panel_closed_grounded": "Panel closed: no live part exposed while refrigerant moves. Ground (earth) the "
    "system; short hoses.",
    "caution.escapes": "What still escapes must not reach anything that ignites. Test for leaks before leaving.",
    "caution.rated_tools": "Short hoses; tools and machines rated for flammable refrigerant.",
    "caution.refrigerant_before_panel": "Panels closed before refrigerant moves; the detector on before one is opened.",
    "caution.burns_braze": "{name} burns ({safety_class}): ventilate throughout; no flame until it is recovered, "
    "purged with nitrogen, evacuated, purged again and measured to be gone, with a detector that warns at 25 % of the "
    "lower flammable limit.",
    "caution.burns": "{name} burns ({safety_class}): ventilate throughout, no flame, halide torch or spark, and a "
    "detector that warns at 25 % of the lower flammable limit.",
    "caution.fill_flammable": "At most 70 % liquid (common practice, no source): AHRI Guideline K covers only what "
    "does not burn; the cylinder's maker says how far.",
    "caution.fill": "At most 80 % liquid by volume (AHRI Guideline K).",
    "caution.hot_work": "A permit for hot work where one is asked for; an extinguisher at hand. Test for leaks after.",
    "caution.nothing_shut_in": "Before a flame: cores out, open to the air, nothing shut in; cut out what holds oil. "
    "What is left of refrigerant makes poison gas in a flame: ventilate.",
    "caution.nitrogen_flow": "Recover the refrigerant first, purge with nitrogen, and let nitrogen flow through while "
    "brazing; never air, never oxygen. A trickle, by regulator, at most 3 psig (20 kPa gauge), the far end open: "
    "closed off, it blows the joint.",
    "caution.vacuum": NO_VOLTAGE,
    "caution.recovery_cylinder": "A recovery cylinder in date and rated for its pressure, on a scale, evacuated before "
    "its first fill: air in it raises the pressure. Never mix refrigerants.",
    "caution.level_reached": "Before the circuit is opened: recovered to the level that the law asks for (US: 40 CFR "
    "82.156), and seen on the gauge to stay there.",
    "caution.no_flame_on_a_cylinder": "Gloves and eye protection. No flame on a cylinder.",
    "caution.small_steps": "Small steps; after each, wait until it has settled.",
    "caution.low_side": "Topping up: low side only, compressor running; liquid only slowly, so that it flashes before "
    "the compressor.",
    "caution.low_side_as_liquid": "Topping up: low side only, compressor running. {name} is a blend: out of the "
    "cylinder as liquid, and only slowly, so that it flashes before the compressor.",
    "caution.into_a_vacuum": "Into a vacuum: compressor off, weigh it in as liquid on the liquid side; never start it "
    "in a vacuum.",
    "caution.empty_hose": "Evacuate the hose, or purge it with the least there is.",
    "caution.evacuate_hose": "Evacuate the hose; purge nothing that burns.",
    "caution.close_the_hose": "Close the hose off at its valve and recover what it holds. Never loosen a hose under "
    "pressure.",
    "caution.rated_hoses": "Hoses, probes and gauges rated for this refrigerant's high side, valves shut, face aside: "
    "a core may stick open.",
    "caution.freezes": "Gloves and eye protection. Liquid refrigerant freezes skin.",
    "caution.hot_and_turning": "Discharge line and compressor shell are hot and burn skin. Keep hands, sleeves and "
    "leads off the fan: it may start by itself.",
    "caution.hot_while_it_heats": "While it heats, the vapour line and the indoor coil are hot as well as the "
    "discharge line and the compressor shell, and burn skin.",
    "caution.fan_after_a_defrost": "Keep hands, sleeves and leads off the outdoor fan: it stands while it defrosts, "
    "and starts by itself after it.",
    "caution.prove_dead": "Prove the tester on a known live source, test dead, prove the tester again. Discharge the "
    "capacitor through a resistor, and measure that it is gone.",
    "caution.live_parts": "A unit that runs has live parts behind its panels and terminal covers: leave those closed. "
    "Leads and jaw that stay go on while it is locked out; measure volts and amps only as licensed practice and local "
    "codes allow.",
    "caution.until_proved": "Until it is proved dead it is live: gloves rated for the volts, with leather over them, "
    "eye and face protection, arc-rated clothing as local codes ask. A non-contact tester proves nothing dead, and "
    "zero amps prove nothing either.",
    "caution.discharge": "A capacitor keeps its charge with the power off, and many have no bleeder: a resistor made "
    "for it, such as 20 kohm and 2 W, never a screwdriver, which can ruin a good one. Measure each pair before you "
    "touch it.",
    "caution.lock_out": "Before a panel is opened: lock out and tag. Try a start at its own controls: nothing starts; "
    "controls back off. The unit may start by itself. A disconnect's own line side stays live: for those lugs, off and "
    "locked at the breaker that feeds it, and proved dead there.",
    "caution.certified": "Certified persons only (US: 40 CFR 82.161). Never vent.",
    "caution.heights": "Keep off edges and skylights without a guard; ladder tied; no roof in lightning, ice or high "
    "wind.",
    "caution.maker_first": "Nameplate, maker, local codes and licensed practice come first.",
    "caution.blend": "{name} is a blend: out of the cylinder as liquid.",
    # --- what the instruments show by themselves, as a question to keep it
    "noticed.power_off": "The supply's volts and the amps of all motors went to zero. Keep it as the power going off? "
    "It proves nothing dead: lock, then prove it on every pair.",
    "noticed.power_off_by_amps": "The amps of all motors, the blower's too, went to zero together. Keep it as the "
    "power going off? Zero amps is no proof of anything dead: lock, then prove it on every pair.",
    "noticed.power_back": "Power is back, {volts}, and the compressor draws after {rest} min of rest. Keep it?",
    "noticed.power_back_locked": "Power is back, {volts}, and nobody has said that the lock is off: hands out of the "
    "panel. The compressor draws after {rest} min of rest. Keep it?",
    "noticed.power_back_early": "Power is back, {volts}, and the compressor draws after {rest} min of rest: makers "
    "ask for 5 min between starts. Keep it?",
    "noticed.dead_unnamed": "The meter showed {before}, then below 3 V (a meter moved from one dead pair to the next "
    "looks like one place), then {after}, and the supply was still dead then. Keep it, and name the pairs? Which they "
    "were no meter tells.",
    "noticed.dead_held": "By the HOLD key, each place as it was asked for: the known source {before}, {count} pairs "
    "below 3 V, the most {most}, and the source again {after}. Keep it as tested at the place of work?",
    "hold.taken": "{what}: {volts}, taken. Press HOLD again to let it go.",
    "hold.all_taken": "Every place is taken: keep it below.",
    "hold.unsteady": "HOLD was pressed while the display still moved: nothing was taken of {what}. Let it go, hold "
    "both leads still, and press again.",
    "hold.no_source": "{volts} is no known live source: nothing was taken of {what}. Find one that is live, or "
    "another tester.",
    "hold.live": "{volts} where {what} was to be dead: nothing is taken as dead, and what was taken before counts no "
    "more. If the leads are there, it is live: hands out, find what feeds it, lock it. Then begin anew at the known "
    "source.",
    "hold.some_volts": "{volts} on {what}: neither live nor dead, and not taken. Find where it comes from.",
    "hold.fed": "The supply has power, or a motor draws: what was taken before counts no more. Hands out; isolate, "
    "lock, and begin anew at the known source.",
    "hold.lead_stopped": "{lead} asked to stop: HOLD takes nothing until {lead} says go on. What was taken before "
    "counts no more.",
    "hold.too_long": "The source was proved over 15 min ago: what was taken counts no more. Begin anew at the known "
    "source.",
    "hold.no_witness": "No voltmeter of the supply was read since: nothing tells that the meter is not on the unit "
    "itself. Let it go, and press again on the source.",
    "keep.more_named": "Times the meter was seen to go below 3 V: {seen}; pairs named: {named}. A meter moved from one "
    "dead pair to the next looks like one place. Was it held on each of them? Kept so, they stand as said.",
    "noticed.discharge": "{before} DC fell along a curve within {for} s, to {left}. Keep it as discharged? Measure "
    "every pair.",
    "noticed.capacitor": "The {section} section reads {reads}, steady. Keep it? The sheet has no label to hold it "
    "against.",
    "noticed.capacitor_sound": "The {section} section: {why}. Keep it?",
    "noticed.capacitor_failed": "The {section} section has failed: {why}. Keep it?",
    "noticed.capacitor_undecided": "The {section} section: {why}; this meter cannot tell. Keep it? Under load, or "
    "with a finer meter, it can be told.",
    "noticed.capacitor_only_sound": "{why}: no section of this can but {section} to common reads so much. Keep it?",
    "noticed.capacitor_only_failed": "{why}, failed: no section of this can but {section} to common reads so much. "
    "Keep it?",
    "noticed.capacitor_only_undecided": "{why}; this meter cannot tell. No section of this can but {section} to common "
    "reads so much. Keep it? Under load, or with a finer meter, it can be told.",
    "noticed.capacitor_other_sound": "{why}, beside the section that was read before: {section} to common. Keep it?",
    "noticed.capacitor_other_undecided": "{why}, beside the section that was read before: {section} to common; this "
    "meter cannot tell. Keep it? Under load, or with a finer meter, it can be told.",
    "noticed.capacitor_unnamed": "The meter reads {reads}, steady. Keep it, and say which section it is?",
    "noticed.capacitor_under_load": "{amps} with {volts} across it: if the jaw is on the lead of the {section} "
    "section, {why}. Keep it?",
    "noticed.started": "The compressor started, {peak} at most: {why}. Keep it?",
    "noticed.start_cannot_tell": "The compressor started, and these readings cannot tell how: {why}. Keep it?",
    "noticed.start_slow": "The compressor started slowly, {peak} at most: {why}. Keep it?",
    "noticed.start_stalled": "{Why}. Keep it as a compressor that did not start?",
    "noticed.restarted": "The compressor started again too soon, {peak} at most: {why}. Keep it?",
    "noticed.first_seconds_started": "{what} Keep it as the start?",
    "noticed.first_seconds_stalled": "{what} Keep it as the start?",
    "noticed.first_seconds_backwards": "{what} Keep it as the start?",
    "noticed.first_seconds_lost_phase": "{what} Keep it as the start?",
    "noticed.first_seconds_weak_capacitor": "{what} Keep it as the start?",
    "noticed.first_seconds_fan": "{what} Keep it as the start?",
    "noticed.supply": "The supply: {rest} at rest, {running} running, {drop} less. Keep it?",
    "noticed.supply_of_three": "The supply, its worst pair: {rest} at rest, {running} running, {drop} less; unbalance "
    "of the three {unbalance}. Keep it?",
    "noticed.amps_within": "The {motor} draws {amps}, within the {rated} of its nameplate. Keep it?",
    "noticed.amps_above": "The {motor} draws {amps}, above the {rated} of its nameplate. Keep it?",
    "noticed.amps_cannot_tell": "The {motor} draws {amps} against {rated} on its nameplate: this clamp cannot tell. "
    "Keep it? Ten turns of the lead through the jaw, wound while it is locked out and proved dead, would tell more.",
    "noticed.compressor_amps": "The {motor} draws {amps}; its RLA is {rated}, which is no limit. Keep it?",
    "noticed.compressor_amps_half": "The {motor} draws {amps}, less than half of the {rated} on its nameplate. Where "
    "the pressures do not part it pumps nothing, or turns backwards: switch it off first. Keep it?",
    "noticed.compressor_amps_as": "The {motor} draws {amps}, as these conditions let expect: {expected}. Its RLA is "
    "{rated}, which is no limit. Keep it?",
    "noticed.compressor_amps_more": "The {motor} draws {amps}, more than the {expected} that these conditions let "
    "expect: see volts, head, outdoor air and its capacitor. Keep it?",
    "noticed.compressor_amps_less": "The {motor} draws {amps}, less than the {expected} that these conditions let "
    "expect: light load, low charge, leaking valves, or a scroll that turns backwards. Keep it?",
    "noticed.joint": "{drop} across the joint at {amps}: {ohms}, {heat} of heat. Keep it, and say which joint?",
    "noticed.probes_on": "Both probes came from open air to pressure: suction {suction}, liquid {liquid}. Keep it?",
    "noticed.suction_probe_on": "The suction probe came from open air to pressure: {suction}. Keep it?",
    "noticed.liquid_probe_on": "The liquid probe came from open air to pressure: {liquid}. Keep it?",
    "noticed.probes_off": "The {which} came from pressure to open air. Keep it as taken off? Cores looked at, caps on.",
    "noticed.probe_moved": "The {channel} went from {was} to {now} at once, and the compressor did not change. Was "
    "the probe put somewhere else?",
    "noticed.clamp_moved": "The compressor's clamp went from {was} to {now} at once, while volts and pressures stood: "
    "amps of another lead, such as a capacitor's, which are not kept as the compressor's. Was it moved? Say where it "
    "is.",
    "noticed.settled_before": "Settled before anything is moved: {figure} {value}. Keep it as the readings before?",
    "noticed.settled_after": "Settled, {since} min after the last move: {figure} {value}. Keep it as the readings "
    "after?",
    "noticed.settled_after_alike": "Settled, {since} min after the last move: {figure} {value}. Outdoor and return air "
    "are as at the readings before. Keep it as the readings after, in like conditions?",
    "noticed.nitrogen_held": "The pressure stood for {stood} min: {expected} expected at this temperature, {found} "
    "found; it held. Keep it?",
    "noticed.nitrogen_leak": "The pressure stood for {stood} min: {expected} expected at this temperature, {found} "
    "found: more is lost than the temperature explains. Keep it?",
    "noticed.nitrogen_rose": "The pressure stood for {stood} min: {expected} expected at this temperature, {found} "
    "found: it rose. Shut the regulator, shade the clamp, and begin anew. Keep it?",
    "noticed.nitrogen_cannot_tell": "The pressure stood for {stood} min: {expected} expected at this temperature, "
    "{found} found: these instruments cannot tell. Keep it?",
    "noticed.vacuum_tight": "From {lowest} to {now} in {stood} min. Was the pump isolated all the while? Then it "
    "held: keep it?",
    "noticed.vacuum_moisture": "From {lowest} to {now} in {stood} min, and it levels off: moisture boils. Keep it?",
    "noticed.vacuum_leak": "From {lowest} to {now} in {stood} min, a steady climb: air comes in. Keep it? See to "
    "hoses and gauge first.",
    "noticed.pattern_unit": "The blower follows the pattern of the fan: {tag}, {probability}; none of these, {none}. "
    "Keep it as the unit? It tells which unit, not that it is dead.",
    "noticed.pattern_none": "The blower does not follow the pattern of the fan: none of these, {none}, if no call of "
    "its own held it on. Keep that, and look for another unit?",
    "noticed.pattern_cannot_tell": "The pattern of the fan cannot tell: {tag}, {probability}; none of these, {none}. "
    "Keep that, and give another pattern, or read the tag?",
    # --- likewise, in a blind exercise before the verdict: what was measured, and nothing of what it means
    "noticed.start_unjudged": "The compressor was called. Keep what its first seconds show as the start, and say how "
    "it went?",
    "noticed.capacitor_unjudged": "The {section} section reads {reads}, steady. Keep it?",
    "noticed.capacitor_under_load_unjudged": "{amps} with {volts} across it, if the jaw is on the lead of the "
    "{section} section. Keep it?",
    "noticed.amps_unjudged": "The {motor} draws {amps}; its nameplate says {rated}. Keep it?",
    "noticed.nitrogen_unjudged": "The pressure stood for {stood} min: {found} found. Keep it?",
    "noticed.vacuum_unjudged": "From {lowest} to {now} in {stood} min. Was the pump isolated all the while? Keep it, "
    "and say how it went?",
    # --- what the readings contradict each other in, and what to do about it
    "doubt.other_unit": "Taken as {taken} its number is out of the way; as {sent} it would be ordinary.",
    "fix.other_unit": "See whether the probe is set to {sent}, and put its unit right in the rig's file.",
    "doubt.pressures_exchanged": "The suction pressure is above the liquid pressure: a compressor that runs raises "
    "the pressure.",
    "fix.pressures_exchanged": "Stop the unit, close the valves and recover what the hoses hold; then exchange the two "
    "hoses or probes. A heat pump that heats exchanges them by itself: tell the rig that it heats.",
    "doubt.reference_open_to_air": "If the probe is open to the air, it reads one barometric pressure {side} what it "
    "should.",
    "doubt.reference_at_rest": "For a unit that has rested, it reads one barometric pressure {side} what it should.",
    "fix.reference": "The probe may send {sent} pressure: look into its papers, and put its reference right in "
    "the rig's file.",
    "doubt.clamps_exchanged": "Both lines are far from their saturation; the other way round, both would be as usual.",
    "fix.clamps_exchanged": "Exchange the two clamps, or their names.",
    "doubt.suction_clamp_loose": "The suction line reads as warm as the {air}, yet the liquid line is full: a coil "
    "that is fed does not give so much superheat.",
    "fix.suction_clamp_loose": "Seat the clamp on clean pipe and insulate it from the air; if it sits well, look for "
    "a restriction.",
    "doubt.liquid_clamp_loose": "The liquid line reads as warm as the outdoor air: a condenser leaves some difference "
    "between them.",
    "fix.liquid_clamp_loose": "Seat the clamp on clean pipe and insulate it from the air; if it sits well, the unit "
    "may be overcharged.",
    "doubt.liquid_line_too_cold": "The liquid line reads colder than the outdoor air that cools it.",
    "fix.liquid_line_too_cold": "Keep the outdoor probe out of the sun and of the condenser's own discharge; see "
    "whether the liquid clamp sits behind a restriction.",
    "doubt.suction_line_beyond_saturation": "The suction line reads colder than its dew point.",
    "doubt.liquid_line_beyond_saturation": "The liquid line reads warmer than its bubble point.",
    "fix.line_beyond_saturation": "Check the probe in air and the clamp in ice; make sure that the refrigerant is "
    "what the nameplate says.",
    "fix.line_or_reference": "One barometric pressure would explain it: is the probe's reference gauge or absolute? "
    "Check the probe in air and the clamp in ice; make sure that the refrigerant is what the nameplate "
    "says.",
    "doubt.air_exchanged": "The supply air reads warmer than the return air while the compressor runs.",
    "fix.air_exchanged": "Exchange the two air probes, or their names. A heat pump that heats does this by itself.",
    "doubt.other_scale": "As {taken} its number is out of the way; as {sent} it would be ordinary.",
    "fix.other_scale": "See whether the instrument is set to {sent}, and put its unit right in the rig's file.",
    "doubt.clamp_off": "The compressor's clamp reads nothing, yet both pressures are as of a unit that runs.",
    "fix.clamp_off": "See whether the clamp is off, its jaw open, or around another lead, before this is called a unit "
    "that does not run.",
    "doubt.stands_still": "The very same number comes again and again, which it did not before.",
    "fix.stands_still": "See whether the display is held or the sensor came loose; switch the instrument off and on.",
    "doubt.failed_check": "A field check of this visit found it beyond its maker's limit.",
    "fix.failed_check": "Correct it by the check, or take another instrument; a check that it passes ends this doubt.",
}

_ACCURACIES = {
    "suction_pressure_accuracy": "accuracy of the suction pressure",
    "liquid_pressure_accuracy": "accuracy of the liquid pressure",
    "temperature_accuracy": "accuracy of the line temperature",
}

_CONDITIONS = {
    "readings": "readings fresh and beyond doubt",
    "settled": "settled",
    "metering_device": "metering device",
    "running_time": "time running",
    "undisturbed_time": "time left alone",
    "expansion_valve_superheat": "superheat of the valve",
    "target": "target",
    "airflow_per_capacity": "airflow for the capacity",
    "airflow_over_design": "airflow against its design",
    "other_causes": "other causes ruled out",
}

TERMS: dict[str, str] = {
    **starts.TERMS,
    **_ACCURACIES,
    **_CONDITIONS,
    # what of a plate alarms and findings go by, as a sheet has it
    "rated_current_a": "rated current",
    "herm_f": "capacitance of the Herm section",
    "fan_f": "capacitance of the fan section",
    "tolerance_share": "tolerance of a capacitor",
    "high_side_design_pressure_pa": "high-side design pressure",
    "mode": "kind of unit",
    "superheat": "superheat",
    "subcooling": "subcooling",
    # faults, as `calc.diagnosis.Fault` has them
    "nothing wrong": "nothing wrong",
    "undercharge": "undercharge",
    "overcharge": "overcharge",
    "low evaporator airflow": "low evaporator airflow",
    "condenser fouling or low outdoor airflow": "condenser fouling or low outdoor airflow",
    "liquid-line restriction": "liquid-line restriction",
    "compressor valve leakage": "compressor valve leakage",
    "non-condensables": "non-condensables",
    "expansion valve that feeds too much": "expansion valve that feeds too much",
    "several at once": "several causes at once",
    "an instrument that is off": "an instrument that is off",
    "not one of these": "a cause that is not in the list",
    # kinds of alarm
    "floodback": "floodback",
    "head pressure": "head pressure",
    "compressor current": "compressor current",
    "cylinder": "cylinder",
    "discharge line": "discharge line too hot",
    "refrigerant in the air": "refrigerant in the air",
    # what is to be stopped
    "adding": "add nothing",
    "recovering": "stop recovering",
    "running": "stop the unit",
    "leaving": "leave, keep others away, touch no switch",
    # what is measured
    "suction_pressure": "suction pressure",
    "liquid_pressure": "liquid pressure",
    "suction_line_temperature": "suction line temperature",
    "liquid_line_temperature": "liquid line temperature",
    "discharge_line_temperature": "discharge line temperature",
    "return_air_temperature": "return air temperature",
    "return_air_wet_bulb": "return air wet bulb",
    "supply_air_temperature": "supply air temperature",
    "outdoor_air_temperature": "outdoor air temperature",
    "discharge_pressure": "discharge pressure",
    "barometric_pressure": "barometric pressure",
    "vacuum_pressure": "vacuum pressure",
    "return_air_humidity": "return air humidity",
    "supply_air_humidity": "supply air humidity",
    "compressor_current": "compressor current",
    "condenser_fan_current": "condenser fan current",
    "blower_current": "blower current",
    "cylinder_mass": "cylinder mass",
    "external_static_pressure": "external static pressure",
    "supply_air_flow": "supply air flow",
    "refrigerant_in_air": "refrigerant in air",
    "multimeter_resistance": "multimeter resistance",
    "multimeter_capacitance": "multimeter capacitance",
    "compressor_current_a": "compressor current, L1",
    "compressor_current_b": "compressor current, L2",
    "compressor_current_c": "compressor current, L3",
    "line_voltage_ab": "line voltage L1–L2",
    "line_voltage_bc": "line voltage L2–L3",
    "line_voltage_ca": "line voltage L3–L1",
    "capacitance_herm": "capacitance of the Herm section",
    "capacitance_fan": "capacitance of the fan section",
    "multimeter_ac_voltage": "multimeter AC voltage",
    "multimeter_dc_voltage": "multimeter DC voltage",
    "return_air": "return air",
    "supply_air": "supply air",
    "outdoor_air": "outdoor air",
    # figures by which causes are weighed, and what is not judged
    "suction_dew_point": "dew point, suction",
    "condensing_over_outdoor": "condensing over outdoor air",
    "air_split": "airflow, by the split of the air",
    "discharge_superheat": "discharge superheat",
    "rest_over_outdoor": "air in the system, by the pressure at rest",
    "compressor_load": "compressor amps over RLA",
    "condenser_fan_load": "condenser fan amps over FLA",
    "capacitors": "capacitors",
    "wiring": "wiring",
    "line_voltage": "supply voltage",
    # what a guided check says of windings, terminals and a pressure test
    "winding common open": "both windings are whole and their common is open: often the overload, let it cool for "
    "hours",
    "winding start open": "the start winding is open",
    "winding run open": "the run winding is open",
    "winding all open": "nothing conducts: check leads, terminals and the instrument first",
    "winding inconsistent": "one open pair alone cannot be: measure again",
    "terminal too thin": "too thin for this terminal",
    "terminal too thick": "too thick for this terminal",
    "terminal more conductors than it is marked for": "one of more than the terminal is marked for",
    "nitrogen held": "it held",
    "nitrogen leak": "more is lost than the temperature explains",
    "nitrogen cannot tell": "what is lost is within the ±",
    "nitrogen rose": "it rose by more than the temperature explains: see that the regulator is shut",
    # words
    "right": "right",
    "too little": "low",
    "too much": "high",
    "fixed_orifice": "a fixed orifice",
    "txv": "a TXV",
    "eev": "an EEV",
    "liquid": "liquid",
    "vapour": "vapour",
    "above": "above",
    "below": "below",
    "gauge": "gauge",
    "absolute": "absolute",
    "psi": "psi",
    "kPa": "kPa",
    "°F": "°F",
    "°C": "°C",
    "nameplate": "on the nameplate",
    "table": "by the table",
    "chart": "by the maker's charging chart",
}

for _kind in ("caution.burns", "caution.burns_braze"):  # what to do is the same, whoever says that it burns
    _, _, _then = SENTENCES[_kind].partition(": ")
    SENTENCES[f"{_kind}_found"] = f"What is in it burns ({{safety_class}}): {_then}"
    SENTENCES[f"{_kind}_not_known"] = f"Not known: treat it as if it burns. {_then[0].upper()}{_then[1:]}"
