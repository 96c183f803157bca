"""The units that are known, by the kind of value they belong to.

Factors are the exact or conventional ones of NIST SP 811, appendix B; Btu are of the International Table.
"""

import math
from typing import NamedTuple

from calc.quantities import Quantity

Kind = Quantity | str
"""A quantity, or the name of a kind that no channel measures."""


class Conversion(NamedTuple):
    """A linear unit: SI value = factor x value + offset."""

    factor: float
    offset: float = 0.0

    def to_si(self, value: float) -> float:
        """Convert a value (or an array of them) in this unit to SI."""
        return self.factor * value + self.offset

    def from_si(self, value: float) -> float:
        """Convert an SI value (or an array of them) to this unit."""
        return (value - self.offset) / self.factor


_POUND = 0.45359237
INCH = 0.0254
_GRAVITY = 9.80665
_PSI = _POUND * _GRAVITY / INCH**2
_BTU = 1055.05585262
_HORSEPOWER = 550 * 12 * INCH * _POUND * _GRAVITY
_YEAR = 365 * 86400.0
_FAHRENHEIT = 5 / 9
_ICE_POINT = 273.15
_CHART_DATUM = 0.240 * 32
"""What dry air at 32 °F holds on a chart in inch-pound units, which counts from 0 °F [Btu/lb]: h = 0.240 t + W (1061 +
0.444 t), ASHRAE Handbook of Fundamentals 2017, chapter 1, as a public psychrometric library quotes it."""

PRESSURES = {
    "psi": Conversion(_PSI),
    "kPa": Conversion(1e3),
    "bar": Conversion(1e5),
    "Pa": Conversion(1.0),
    "hPa": Conversion(1e2),
    "mbar": Conversion(1e2),
    "MPa": Conversion(1e6),
    "inHg": Conversion(3386.389),
    "mmHg": Conversion(133.3224),
    "inH2O": Conversion(249.0889),
    "micron": Conversion(0.1333224),
    "Torr": Conversion(101325 / 760),
    "mTorr": Conversion(101.325 / 760),
}


class Facts(NamedTuple):
    """What is known of a kind: an example, its units, and those to show: below one of the larger, the smaller."""

    example: str
    us: tuple[str, ...]
    si: tuple[str, ...]
    units: dict[str, Conversion]


_OHMS = {"ohm": Conversion(1.0), "kohm": Conversion(1e3), "Mohm": Conversion(1e6)}
_FLOWS = {
    "cfm": Conversion((12 * INCH) ** 3 / 60),
    "L/s": Conversion(1e-3),
    "m3/s": Conversion(1.0),
    "m3/h": Conversion(1 / 3600),
}

_TIMES = {
    "s": Conversion(1.0),
    "ms": Conversion(1e-3),
    "min": Conversion(60.0),
    "h": Conversion(3600.0),
    "d": Conversion(86400.0),
}
KINDS: dict[Kind, Facts] = {
    Quantity.PRESSURE: Facts("118 psig", ("psi",), ("kPa",), PRESSURES),
    "barometric_pressure": Facts("29.92 inHg", ("inHg",), ("kPa",), PRESSURES),
    "vacuum_pressure": Facts("500 micron", ("micron",), ("Pa",), PRESSURES),
    Quantity.TEMPERATURE: Facts(
        "41 degF",
        ("degF",),
        ("degC",),
        {
            "degF": Conversion(_FAHRENHEIT, _ICE_POINT - 32 * _FAHRENHEIT),
            "degC": Conversion(1.0, _ICE_POINT),
            "K": Conversion(1.0),
        },
    ),
    Quantity.TEMPERATURE_DIFFERENCE: Facts(
        "10 degF",
        ("degF",),
        ("K",),
        {"degF": Conversion(_FAHRENHEIT), "degC": Conversion(1.0), "K": Conversion(1.0)},
    ),
    Quantity.HUMIDITY: Facts("50 %RH", ("%RH",), ("%RH",), {"%RH": Conversion(1.0)}),
    Quantity.CURRENT: Facts("12 A", ("A",), ("A",), {"A": Conversion(1.0), "mA": Conversion(1e-3)}),
    Quantity.VOLTAGE: Facts(
        "230 V",
        ("V",),
        ("V",),
        {"V": Conversion(1.0), "mV": Conversion(1e-3), "kV": Conversion(1e3)},
    ),
    Quantity.CAPACITANCE: Facts(
        "45 uF",
        ("uF",),
        ("uF",),
        {"uF": Conversion(1e-6), "nF": Conversion(1e-9), "F": Conversion(1.0)},
    ),
    Quantity.MASS: Facts(
        "6 oz",
        ("lb", "oz"),
        ("kg", "g"),
        {
            "lb": Conversion(_POUND),
            "oz": Conversion(_POUND / 16),
            "kg": Conversion(1.0),
            "g": Conversion(1e-3),
        },
    ),
    Quantity.RATIO: Facts("5 %", ("",), ("",), {"": Conversion(1.0), "%": Conversion(0.01)}),
    Quantity.RESISTANCE: Facts("1.2 ohm", ("ohm",), ("ohm",), _OHMS),
    Quantity.AIR_PRESSURE: Facts("0.5 inH2O", ("inH2O",), ("Pa",), {**PRESSURES}),
    Quantity.CONCENTRATION: Facts("500 ppm", ("ppm",), ("ppm",), {"ppm": Conversion(1e-6), "%": Conversion(0.01)}),
    Quantity.AIR_FLOW: Facts("1200 cfm", ("cfm",), ("L/s",), _FLOWS),
    "length": Facts(
        "30 m",
        ("ft", "in"),
        ("m", "mm"),
        {
            "ft": Conversion(12 * INCH),
            "in": Conversion(INCH),
            "m": Conversion(1.0),
            "mm": Conversion(1e-3),
        },
    ),
    "area": Facts(
        "14 AWG",
        ("cmil",),
        ("mm2",),
        {
            "cmil": Conversion(math.pi / 4 * (INCH / 1000) ** 2),
            "mm2": Conversion(1e-6),
            "m2": Conversion(1.0),
        },
    ),
    "floor_area": Facts("200 ft2", ("ft2",), ("m2",), {"ft2": Conversion((12 * INCH) ** 2), "m2": Conversion(1.0)}),
    "time": Facts("2 min", ("s",), ("s",), _TIMES),
    "waiting_time": Facts("5 min", ("min",), ("min",), _TIMES),  # of what a person waits for, and times by a watch
    "pressure_difference": Facts("0.5 inH2O", ("psi", "inH2O"), ("kPa", "Pa"), {**PRESSURES}),  # of no reference
    "pressure_swing": Facts("1 psi", ("psi",), ("kPa",), {**PRESSURES}),  # likewise, of a circuit under pressure
    "resistance": Facts(
        "15 kohm",
        ("Mohm", "kohm", "ohm"),
        ("Mohm", "kohm", "ohm"),
        _OHMS,
    ),
    "insulation_resistance": Facts("500 Mohm", ("Mohm",), ("Mohm",), _OHMS),  # a bare number of it is never in ohms
    "frequency": Facts("60 Hz", ("Hz",), ("Hz",), {"Hz": Conversion(1.0)}),
    "rotational_speed": Facts("1050 rpm", ("rpm",), ("rpm",), {"rpm": Conversion(1 / 60), "1/s": Conversion(1.0)}),
    "velocity": Facts(
        "1000 fpm",
        ("fpm",),
        ("m/s",),
        {"fpm": Conversion(12 * INCH / 60), "m/s": Conversion(1.0), "ft/s": Conversion(12 * INCH)},
    ),
    "power": Facts(
        "3 kW",
        ("Btu/h",),
        ("kW", "W"),
        {
            "W": Conversion(1.0),
            "kW": Conversion(1e3),
            "Btu/h": Conversion(_BTU / 3600),
            "MBH": Conversion(1000 * _BTU / 3600),
            "ton": Conversion(12000 * _BTU / 3600),
            "hp": Conversion(_HORSEPOWER),
        },
    ),
    "electric_power": Facts(
        "12 kW", ("kW", "W"), ("kW", "W"), {"W": Conversion(1.0), "kW": Conversion(1e3), "hp": Conversion(_HORSEPOWER)}
    ),
    "shaft_power": Facts("0.5 hp", ("hp",), ("W",), {"hp": Conversion(_HORSEPOWER), "W": Conversion(1.0)}),
    "thermocouple_voltage": Facts("3.096 mV", ("mV",), ("mV",), {"mV": Conversion(1e-3), "V": Conversion(1.0)}),
    "apparent_power": Facts("14.5 kVA", ("kVA", "VA"), ("kVA", "VA"), {"VA": Conversion(1.0), "kVA": Conversion(1e3)}),
    "reactive_power": Facts(
        "7.6 kvar", ("kvar", "var"), ("kvar", "var"), {"var": Conversion(1.0), "kvar": Conversion(1e3)}
    ),
    "energy": Facts("8 J", ("J",), ("J",), {"J": Conversion(1.0), "Btu": Conversion(_BTU), "kWh": Conversion(3.6e6)}),
    "torque": Facts(
        "20 lbf in",
        ("lbf in",),
        ("N m",),
        {
            "lbf in": Conversion(INCH * _POUND * _GRAVITY),
            "lbf ft": Conversion(12 * INCH * _POUND * _GRAVITY),
            "N m": Conversion(1.0),
        },
    ),
    "volume": Facts(
        "12 L",
        ("ft3",),
        ("L",),
        {
            "L": Conversion(1e-3),
            "m3": Conversion(1.0),
            "ft3": Conversion((12 * INCH) ** 3),
            "gal": Conversion(231 * INCH**3),
        },
    ),
    "air_flow": Facts("1200 cfm", ("cfm",), ("L/s",), _FLOWS),
    "leak_flow": Facts(
        "1e-5 Pa m3/s",
        ("Pa m3/s",),
        ("Pa m3/s",),
        {"Pa m3/s": Conversion(1.0), "mbar L/s": Conversion(0.1), "kPa L/s": Conversion(1.0)},
    ),
    "mass_flow": Facts(
        "0.5 lb/min",
        ("lb/min",),
        ("kg/h",),
        {
            "lb/min": Conversion(_POUND / 60),
            "kg/h": Conversion(1 / 3600),
            "kg/min": Conversion(1 / 60),
            "g/s": Conversion(1e-3),
            "kg/s": Conversion(1.0),
        },
    ),
    "leak_mass_flow": Facts(
        "5 g/a",
        ("oz/yr",),
        ("g/a",),
        {"oz/yr": Conversion(_POUND / 16 / _YEAR), "g/a": Conversion(1e-3 / _YEAR), "kg/s": Conversion(1.0)},
    ),
    "mass_per_length": Facts(
        "0.6 oz/ft",
        ("oz/ft",),
        ("g/m",),
        {"oz/ft": Conversion(_POUND / 16 / (12 * INCH)), "g/m": Conversion(1e-3), "kg/m": Conversion(1.0)},
    ),
    "density": Facts(
        "62 lb/ft3",
        ("lb/ft3",),
        ("kg/m3",),
        {"lb/ft3": Conversion(_POUND / (12 * INCH) ** 3), "kg/m3": Conversion(1.0)},
    ),
    "humidity_ratio": Facts(
        "65 gr/lb",
        ("gr/lb",),
        ("g/kg",),
        {"gr/lb": Conversion(1 / 7000), "g/kg": Conversion(1e-3), "kg/kg": Conversion(1.0)},
    ),
    "enthalpy": Facts(
        "28 Btu/lb",
        ("Btu/lb",),
        ("kJ/kg",),
        {"Btu/lb": Conversion(_BTU / _POUND), "kJ/kg": Conversion(1e3), "J/kg": Conversion(1.0)},
    ),
    "moist_air_enthalpy": Facts(
        "31.4 Btu/lb",
        ("Btu/lb",),
        ("kJ/kg",),
        {
            "Btu/lb": Conversion(_BTU / _POUND, -_CHART_DATUM * _BTU / _POUND),
            "kJ/kg": Conversion(1e3),
            "J/kg": Conversion(1.0),
        },
    ),
    "percentage": Facts("10 %", ("%",), ("%",), {"%": Conversion(1.0), "": Conversion(1.0)}),
}
LABELS = {
    "degF": "°F", "degC": "°C", "uF": "µF", "mm2": "mm²", "ohm": "Ω", "kohm": "kΩ", "Mohm": "MΩ", "N m": "N·m",
    "ft2": "ft²", "m2": "m²", "ft3": "ft³", "Pa m3/s": "Pa·m³/s", "kg/m3": "kg/m³", "lb/ft3": "lb/ft³",
}  # fmt: skip
SPELLINGS = {
    **{label: unit for unit, label in LABELS.items()},
    "F": "degF", "C": "degC", "Cel": "degC", "%": "%RH", "μF": "uF", "m³": "m3",
    "sec": "s", "hr": "h", "day": "d", "days": "d", "microns": "micron", "lbs": "lb",
    "lb-in": "lbf in", "in-lb": "lbf in", "ft-lb": "lbf ft",
}  # fmt: skip
"""Other ways to write a unit; they count only where the kind has no unit of that very name."""
WORDS = {
    word: unit
    for unit, words in {
        "degF": "f °f degf degreef degreesf fahrenheit degfahrenheit",
        "degC": "c °c degc degreec degreesc celsius centigrade",
        "K": "kelvin kelvins",
        "psi": "psi lb/in2 lb/in² lbs/in2",
        "inHg": 'inhg inchhg incheshg inchesofmercury inchofmercury "hg inmercury',
        "mmHg": "mmhg",
        "inH2O": 'inh2o inwc inwg inh₂o iwc wc "wc "wg "h2o incheswc incheswg inchwc inchesh2o inchesofwater '
        "incheswatercolumn inchesofwatercolumn",
        "micron": "micron microns µm μm um µmhg umhg micronhg micronshg",
        "Torr": "torr",
        "mTorr": "mtorr millitorr",
        "A": "amp amps ampere amperes aac adc ampsac",
        "mA": "milliamp milliamps",
        "V": "volt volts vac vdc vrms voltsac voltac",
        "mV": "millivolt millivolts",
        "kV": "kilovolt kilovolts",
        "uF": "mfd mfds ufd uf µf μf microfarad microfarads",
        "ohm": "ohm ohms ω",
        "kohm": "k kohm kohms kω kilohm kilohms kiloohm kiloohms",
        "Mohm": "megohm megohms megaohm megaohms meg megs",
        "Hz": "hz hertz cps",
        "W": "watt watts",
        "kW": "kw kilowatt kilowatts",
        "Btu/h": "btuh btu/h btu/hr btuperhour btusperhour btu/hour btus/h btuhr btushr btus/hr",
        "MBH": "mbh mbtuh kbtuh kbtu/h kbtu/hr mbtu/h",
        "ton": "ton tons tr tonsofrefrigeration tonofrefrigeration",
        "hp": "hp horsepower",
        "lb": "lb lbs pound pounds # lbm",
        "oz": "oz ozs ounce ounces",
        "kg": "kg kgs kilo kilos kilogram kilograms",
        "g": "g gram grams gm",
        "ft": "ft foot feet ' ′ ’",
        "in": 'in inch inches " ″ ” ins',
        "m": "m meter meters metre metres",
        "mm": "mm millimeter millimeters millimetre millimetres",
        "mm2": "mm2 mm² mm^2 sqmm",
        "cmil": "cmil cmils circularmil circularmils",
        "s": "s sec secs second seconds",
        "min": "min mins minute minutes",
        "h": "h hr hrs hour hours",
        "d": "d day days",
        "lbf in": "lbfin inlbf lbin inlb inlbs lbsin inchpound inchpounds poundinch poundinches inchlb inchlbs",
        "lbf ft": "lbfft ftlbf lbft ftlb ftlbs lbsft footpound footpounds poundfoot poundfeet",
        "N m": "nm newtonmeter newtonmeters newtonmetre newtonmetres",
        "ft2": "ft2 ft² ft^2 sqft squarefeet squarefoot",
        "rpm": "rpm r/min revolutionsperminute",
        "fpm": "fpm ft/min feetperminute",
        "ft/s": "ft/s fps",
        "m/s": "m/s",
        "cfm": "cfm ft3/min ft³/min cubicfeetperminute",
        "L/s": "l/s lps liter/s litre/s",
        "m3/h": "m3/h m³/h m^3/h cmh m3/hr m³/hr",
        "m3/s": "m3/s m³/s m^3/s",
        "Pa m3/s": "pam3/s pam³/s pa·m³/s pa·m3/s pa*m3/s",
        "mbar L/s": "mbarl/s mbar·l/s mbar*l/s",
        "kPa L/s": "kpal/s",
        "lb/min": "lb/min lbs/min lbm/min poundsperminute",
        "kg/h": "kg/h kg/hr",
        "kg/min": "kg/min",
        "g/s": "g/s",
        "kg/s": "kg/s",
        "g/a": "g/a g/yr g/year grams/year gperyear",
        "oz/yr": "oz/yr oz/a oz/year ounces/year ozperyear",
        "Btu/lb": "btu/lb btu/lbm btuperpound btus/lb btu/lbda",
        "gr/lb": "gr/lb grains/lb grainsperpound grain/lb",
        "oz/ft": "oz/ft ozperft ounces/ft ozperfoot oz/foot",
        "%": "% percent pct",
        "%RH": "%rh rh rh% percentrh",
    }.items()
    for word in words.split()
}
"""How the trade writes units, in lower case and without spaces, dots and hyphens; likewise of the kind's units only."""
