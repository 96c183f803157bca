"""What can be wrong with a unit, each with its size. All of them can be there at once."""

from dataclasses import dataclass

from simulators.unit.limits import check_limits


@dataclass(frozen=True, slots=True)
class Faults:
    """Faults with their sizes; the defaults are none. Too much or too little charge is a matter of the charge.

    evaporator_airflow, condenser_airflow: fraction of the design air flow that dirt or a slow fan leaves.
    liquid_line_restriction: fraction of the liquid line's free area that is blocked. compressor_leakage: fraction of
    the flow that leaks back inside. non_condensables: pressure of air in the condenser while it runs [Pa]; that much
    air is in the circuit, and stays in it through a rest.
    bulb_contact: how far the valve's bulb feels the suction line, the rest being the air around it. valve_oversize:
    how many times too large the valve is. herm_capacitor, fan_capacitor: fraction of the section's rated
    capacitance, 0 when open. lug_resistance: of a loose lug in the compressor's phase a, or at its common terminal
    where it has one phase [ohm]. voltage_sag:
    fraction of the line voltage that is missing. voltage_unbalance: greatest deviation over the average, as NEMA
    MG 1 defines it. leak: at the suction side, as from one atmosphere into a vacuum [Pa m³/s]. water: in the
    circuit [kg]. damper_stuck_open: part of outdoor air that an economizer lets in at least. reversing_valve_leak:
    effective area past its slide, from discharge to suction [m²]. reversing_valve_reach: how far its slide gets when
    its coil has power, 0 where it stays, and between where it hangs on its way.
    """

    evaporator_airflow: float = 1.0
    condenser_airflow: float = 1.0
    liquid_line_restriction: float = 0.0
    compressor_leakage: float = 0.0
    non_condensables_pa: float = 0.0
    bulb_contact: float = 1.0
    valve_oversize: float = 1.0
    herm_capacitor: float = 1.0
    fan_capacitor: float = 1.0
    lug_resistance_ohm: float = 0.0
    voltage_sag: float = 0.0
    voltage_unbalance: float = 0.0
    leak_pa_m3_s: float = 0.0
    water_kg: float = 0.0
    damper_stuck_open: float = 0.0
    reversing_valve_leak_m2: float = 0.0
    reversing_valve_reach: float = 1.0

    def __post_init__(self) -> None:
        check_limits(self, _LIMITS)


_LIMITS = {
    "evaporator_airflow": (0.2, 1.5),
    "condenser_airflow": (0.2, 1.5),
    "liquid_line_restriction": (0.0, 0.98),
    "compressor_leakage": (0.0, 0.6),
    "non_condensables_pa": (0.0, 1e6),
    "bulb_contact": (0.0, 1.0),
    "valve_oversize": (0.5, 4.0),
    "herm_capacitor": (0.0, 1.5),
    "fan_capacitor": (0.0, 1.5),
    "lug_resistance_ohm": (0.0, 1.0),
    "voltage_sag": (0.0, 0.3),
    "voltage_unbalance": (0.0, 0.1),
    "leak_pa_m3_s": (0.0, 10.0),
    "water_kg": (0.0, 0.1),
    "damper_stuck_open": (0.0, 1.0),
    "reversing_valve_leak_m2": (0.0, 1e-5),
    "reversing_valve_reach": (0.0, 1.0),
}
