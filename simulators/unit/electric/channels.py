"""What perfect instruments would read of a unit's electrics: channel to value in the house's units."""

from simulators.unit.electric import meter
from simulators.unit.electric.motion import Motion


def channels(motion: Motion) -> dict[str, float]:
    """Tell currents, line voltages, and what each section of the outdoor capacitor holds cold."""
    panel = motion.panel
    three = compressor_currents(motion)
    ab, bc, ca = line_voltages(motion)
    can = panel.cans["outdoor"]
    return {
        "compressor_current": sum(three) / 3.0,
        "compressor_current_a": three[0],
        "compressor_current_b": three[1],
        "compressor_current_c": three[2],
        "line_voltage_ab": ab,
        "line_voltage_bc": bc,
        "line_voltage_ca": ca,
        "condenser_fan_current": motion.currents["fan_common"] * panel.slowed_in("fan_common"),
        "blower_current": motion.currents["blower_common"],
        "capacitance_herm": can.cold_f("herm") if panel.is_single_phase else 0.0,
        "capacitance_fan": can.cold_f("fan"),
    }


def compressor_currents(motion: Motion) -> tuple[float, float, float]:
    """Find those at its three terminals; of a single-phase one thrice that of its common terminal [A]."""
    currents, panel = motion.currents, motion.panel
    if panel.is_single_phase:
        return (currents["compressor_common"],) * 3
    a, b, c = (currents[lug] for lug in panel.motors["compressor"].lugs)
    return a, b, c


def line_voltages(motion: Motion) -> tuple[float, float, float]:
    """Find those at the compressor while the contactor is in, and before the contactor otherwise [V]."""
    panel = motion.panel
    if not panel.contactor.is_in:
        names = [f"contactor_line_{leg}" for leg in panel.supply.legs]
    elif panel.is_single_phase:
        names = ["compressor_run", "compressor_common"]
    else:
        names = list(panel.motors["compressor"].terminals)
    at = [meter.voltage(motion, name) for name in names]
    if panel.is_single_phase:
        return (abs(at[0] - at[1]),) * 3
    return abs(at[0] - at[1]), abs(at[1] - at[2]), abs(at[2] - at[0])
