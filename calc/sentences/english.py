"""Every sentence of judging, in English: a pattern for each kind, and a word for each term."""

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

_SHELL = "measure the bottom of the shell, terminal cover on: cold or sweating is liquid"
"""Common practice, no source. Never by hand: the shell burns."""

SENTENCES: dict[str, str] = {
    "as_it_stands": "{said}",
    # --- what to do now
    "headline.alarm": "{Acts}: {kinds}.",
    "headline.add_instrument": "Add an instrument for the {channel}: {figure} needs it.",
    "headline.connect": "Connect the {instrument}: no {channel}.",
    "headline.check_pressure": "Check the pressure: no {figure} follows from it.",
    "headline.late": "Wait for fresh readings.",
    "headline.doubt": "Check the {channels}.",
    "headline.at_rest": f"The compressor does not run: if nobody stopped it, find out why; {_START_IT}.",
    "headline.pumps_not": "The compressor draws current and does not pump: switch it off. On three phases it may turn "
    "backwards: locked out, exchange two line leads; else its valves or its scroll.",
    "headline.at_rest_waited": "At rest for its check: leave it off until the pressure can be read.",
    "headline.at_rest_read": f"The check at rest is read: {_START_IT}.",
    "headline.at_rest_higher": "Leave it off: the pressure at rest is higher than this refrigerant has there.",
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
    "headline.within_instruments": "Within what these instruments can tell: {figure} {value} against {target} "
    "{stands}.",
    "headline.near_enough": "Near enough: {figure} {value} against {target} {stands}.",
    "headline.verified": "The charge is right: {figure} {value} against {target} {stands}.",
    # --- what speaks for it
    "detail.settled": "Settled. {Figure} {value} against {target} {stands}.",
    "detail.within": "Within {limit} of the target ({chance}; {source}).",
    "detail.beyond": "More than {limit} {side} the target ({chance}; {source}).",
    "detail.cannot_tell": "These instruments cannot tell whether it is within {limit} of the target ({source}).",
    "detail.better_instrument": "Whether it is within {limit} of the target ({source}), they cannot tell: a better "
    "instrument for the {channel} would tell more.",
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
    "detail.rest_no_air": "At rest {found}, expected {expected} at the {air} of the {beside}: no air is seen.",
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
    "detail.target_source": "The target: {source}.",
    "detail.ice": "The coil is below freezing (dew point {dew_point}): look for ice. With ice on it nothing can be "
    "judged: compressor off, blower on, until it has thawed; then find out why.",
    "detail.in_all": "It takes some {needed} in all, likely {likely}.",
    "detail.in_all_largest": "It takes some {needed} in all, likely {likely}; in steps, for no step is larger "
    "than 12 % of the charge.",
    "detail.in_all_overshoot": "It takes some {needed} in all, likely {likely}; in steps, for it must not overshoot.",
    "detail.heading": "{figure} is heading for {value}, {ahead}.",
    "detail.because": "{figure}: {reason}.",
    "detail.unknown": "{figure}: not known.",
    "detail.since": "{figure}: {since}.",
    "detail.late": "{figure}: an instrument is late.",
    "detail.first_forecast": "The first forecast comes {ahead}.",
    "detail.formal": "A formal verification waits {of} min after the start and every change: it may be made {ahead}.",
    "detail.open": "Still open for a formal verification: {conditions}.",
    "detail.finish": "Then take a final reading, take the hoses off, tighten cores and caps, look for leaks, close "
    "the unit up.",
    "detail.above_rla": "Amps {load} times RLA. RLA is no limit, but look at volts, head and air.",
    "detail.not_judged": "Not judged: {what}.",
    "detail.alarm_in_doubt": "In doubt, but if it is so: {alarm}",
    # --- how long a wait is
    "ahead.now": "shortly",
    "ahead.seconds": "in {number} s",
    "ahead.minutes": "in {number} min",
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
    "alarm.compressor_current": "The compressor draws far more than its rated load amps. Add nothing; shut the unit "
    "down if it stays, and lock out before you look at the supply, the capacitor and the contactor.",
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
    "there is the restriction. The screen of the metering device only once the refrigerant is recovered.",
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
    "check.not_one_of_these": "Check the instruments: which port, which pipe, gauge or absolute, which refrigerant.",
    # --- why a wrong charge is not blamed yet
    "held_back.unseen": "First rule out {fault}: measure {measure}.",
    "held_back.low_evaporator_airflow": "First rule out low evaporator airflow.",
    "held_back.condenser_fouling": "First rule out condenser fouling or low outdoor airflow.",
    "held_back.restriction": "First rule out a liquid-line restriction.",
    "held_back.non_condensables": "First rule out non-condensables.",
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
    "no_target.formula_too_low": "The formula gives less than 5 °F (2.8 K), which is no valid test.",
    "no_target.no_subcooling": "The nameplate's target subcooling is not given: read it there, or in the maker's "
    "charging chart.",
    "no_target.no_air": "Take the target from the maker's chart; to look it up in a table, the wet bulb of the "
    "return air and the outdoor temperature are needed.",
    # --- what to beware of at each step
    "caution.pressure_test": "Test for pressure with nitrogen, never with air or oxygen.",
    "caution.regulator": "Dry nitrogen only, through a regulator set below the lowest test pressure on the nameplate, "
    "with a relief valve: never oxygen, never compressed air, which explode with oil.",
    "caution.caps_and_gauges": "Nobody in front of caps and gauges while it is under pressure.",
    "caution.let_off": "Let it off slowly and outdoors, or into ventilated space: it suffocates.",
    "caution.megohms": "Megohms only dead, with every lead off the winding: electronics die of the test voltage, 500 V "
    "or what the maker asks for. Never while the compressor is in a vacuum: it arcs. Keep to one side of the "
    "terminals. Discharge the winding afterwards.",
    "caution.power_back": "Before power comes back: hands and tools out, every wire on its terminal, panel on, nobody "
    "near the fan. Only who put the lock on takes it off.",
    "caution.pump_outdoors": "Let the pump blow off outdoors, away from anything that ignites.",
    "caution.recovery_machine": "A recovery machine and cylinder rated for flammable refrigerant, grounded (earthed).",
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
    "purged with nitrogen and measured to be gone, with a detector that warns at 25 % of the lower flammable limit.",
    "caution.burns": "{name} burns ({safety_class}): ventilate throughout, no flame, halide torch or spark, and a "
    "detector that warns at 25 % of the lower flammable limit.",
    "caution.fill_flammable": "At most 70 % liquid (common practice, no source): AHRI Guideline K covers only what "
    "does not burn; the cylinder's maker says how far.",
    "caution.fill": "At most 80 % liquid by volume (AHRI Guideline K).",
    "caution.hot_work": "A permit for hot work where one is asked for; an extinguisher at hand. Test for leaks after.",
    "caution.nitrogen_flow": "Recover the refrigerant first, and let nitrogen flow through while brazing; never air, "
    "never oxygen.",
    "caution.vacuum": NO_VOLTAGE,
    "caution.recovery_cylinder": "A recovery cylinder in date and rated for its pressure, on a scale. Never mix "
    "refrigerants.",
    "caution.level_reached": "Before the circuit is opened: recovered to the level that the law asks for (US: 40 CFR "
    "82.156), and seen on the gauge to stay there.",
    "caution.no_flame_on_a_cylinder": "Gloves and eye protection. No flame on a cylinder.",
    "caution.small_steps": "Small steps; after each, wait until it has settled.",
    "caution.low_side": "Low side only, compressor running; liquid only slowly, so that it flashes before the "
    "compressor.",
    "caution.low_side_as_liquid": "Low side only, compressor running. {name} is a blend: out of the cylinder as "
    "liquid, and only slowly, so that it flashes before the compressor.",
    "caution.into_a_vacuum": "Into a vacuum: compressor off, weigh it in as liquid; never start it in a vacuum.",
    "caution.empty_hose": "Evacuate the hose, or purge it with the least there is.",
    "caution.evacuate_hose": "Evacuate the hose; purge nothing that burns.",
    "caution.close_the_hose": "Close the hose off at its valve and recover what it holds. Never loosen a hose under "
    "pressure.",
    "caution.freezes": "Gloves and eye protection. Liquid refrigerant freezes skin.",
    "caution.hot_and_turning": "Discharge line and compressor shell burn. Keep hands, sleeves and leads off the fan: "
    "it may start by itself.",
    "caution.prove_dead": "Prove the tester on a known live source, test dead, prove the tester again. Discharge the "
    "capacitor through a resistor, and measure that it is gone.",
    "caution.live_parts": "A unit that runs has live parts behind its panels and terminal covers: leave those closed. "
    "Leads and jaw that stay go on while it is locked out; measure volts and amps only as licensed practice and local "
    "codes allow.",
    "caution.lock_out": "Before a panel is opened: lock out and tag. The unit may start by itself.",
    "caution.certified": "Certified persons only (US: 40 CFR 82.161). Never vent.",
    "caution.maker_first": "Nameplate, maker, local codes and licensed practice come first.",
    "caution.blend": "{name} is a blend: out of the cylinder as liquid.",
    # --- what the readings contradict each other in, and what to do about it
    "doubt.other_unit": "Taken as {taken} its number is out of the way; as {sent} it would be ordinary.",
    "fix.other_unit": "See whether the probe is set to {sent}, and put its unit right in the rig's file.",
    "doubt.pressures_exchanged": "The suction pressure is above the liquid pressure: a compressor that runs raises "
    "the pressure.",
    "fix.pressures_exchanged": "Stop the unit, close the valves and recover what the hoses hold; then exchange the two "
    "hoses or probes. A heat pump that heats exchanges them by itself: switch it to cooling.",
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
    "what the plate says.",
    "fix.line_or_reference": "One barometric pressure would explain it: is the probe's reference gauge or absolute? "
    "Check the probe in air and the clamp in ice; make sure that the refrigerant is what the plate says.",
    "doubt.air_exchanged": "The supply air reads warmer than the return air while the compressor runs.",
    "fix.air_exchanged": "Exchange the two air probes, or their names. A heat pump that heats does this by itself.",
    "doubt.other_scale": "As {taken} its number is out of the way; as {sent} it would be ordinary.",
    "fix.other_scale": "See whether the instrument is set to {sent}, and put its unit right in the rig's file.",
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
    **_ACCURACIES,
    **_CONDITIONS,
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
    "not one of these": "an instrument that is off, or a cause that is not in the list",
    # kinds of alarm
    "floodback": "floodback",
    "head pressure": "head pressure",
    "compressor current": "compressor current",
    "cylinder": "cylinder",
    # what is to be stopped
    "adding": "add nothing",
    "recovering": "stop recovering",
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
}
