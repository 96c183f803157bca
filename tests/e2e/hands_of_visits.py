"""What hands do at the bench in the visits of `test_visits_by_touch`: acts, each at its second of the unit's time.

What a technician does at the page in between stands among them (`page`): the hands wait for it.

Times and sequence follow simulators/scripts/whole_visit.toml, but for what a meter needs a real second for.
"""

from collections.abc import Callable, Mapping, Sequence
from typing import Any

Step = tuple[float, dict[str, Any]]


def leads(red: str = "", black: str = "") -> dict[str, Any]:
    """Put the meter's leads somewhere, or off."""
    return {"act": "leads", "red": red, "black": black}


def dial(function: str) -> dict[str, Any]:
    """Turn the meter's dial."""
    return {"act": "dial", "function": function}


def page(does: str, what: str) -> dict[str, Any]:
    """Let the technician do something at the page in between, by its name in `test_visits_by_touch`."""
    return {"page": does, "what": what}


HELD_S = 1.6
"""So long a meter is held on one place, in real seconds: it shows two values in each, however fast the unit runs."""


class Hands:
    """Acts one after the other. speed: how much faster than life the unit runs, for what takes a person's time."""

    def __init__(self, speed: float, at_s: float = 10.0) -> None:
        self._speed, self.at_s = speed, at_s
        self.steps: list[Step] = []

    def do(self, *acts: dict[str, Any], then_s: float = 1.0) -> None:
        """Do these, and go on so many seconds of the unit later."""
        for act in acts:
            self.steps.append((self.at_s, act))
            self.at_s += then_s

    def hold(self, *pairs: dict[str, Any]) -> None:
        """Hold the leads on one pair after the other, each for as long as a meter needs."""
        self.do(*pairs, then_s=HELD_S * self._speed)

    def press(self, *pairs: dict[str, Any]) -> None:
        """Hold the leads on one pair after the other, press HOLD there, and let it go again."""
        for pair in pairs:
            self.hold(pair)
            self.do({"act": "hold"}, {"act": "hold"}, then_s=HELD_S * self._speed)

    def make_dead(self, legs: str, empties: str) -> None:
        """Prove the meter, open and lock the disconnect, prove every pair dead, discharge; each noted at the page.

        The meter's HOLD key is pressed in the order of the page: L1 to L2, L2 to L3, L3 to L1, each leg to earth,
        control.
        """
        around = [*zip(legs, legs[1:] + legs[:1], strict=True)][: len(legs) * (len(legs) - 1) // 2]
        pairs = [(f"contactor_line_{one}", f"contactor_line_{other}") for one, other in around]
        pairs += [(f"contactor_line_{leg}", "earth") for leg in legs]
        pairs += [("secondary_r", "secondary_c")]
        self.do({"act": "panel", "on": False}, dial("ac_voltage"))
        self.press(leads("line_a", "line_b"))
        self.do({"act": "disconnect", "closed": False}, then_s=HELD_S * self._speed)
        self.do(page("lock", "isolate"))
        self.press(*(leads(*pair) for pair in pairs), leads("line_a", "line_b"))
        self.do(page("until", "prove_dead"), dial("dc_voltage"))
        sections = ("herm", "fan") if empties == "dual" else ("fan",)
        discharges = ({"act": "discharge", "section": it, "resistance_ohm": 2e4, "duration_s": 8.0} for it in sections)
        self.do(*discharges, then_s=10.0)
        self.do(page("empty", empties), leads())

    def power(self) -> None:
        """Put the panel on, note that, and put the power back."""
        self.do({"act": "panel", "on": True}, page("answer", "close_panel"), {"act": "disconnect", "closed": True})


def leads_off(*names: str, off: bool = True) -> list[dict[str, Any]]:
    """Take the leads off sections of the capacitor, or put them on again."""
    return [{"act": "lug", "lug": f"capacitor_{name}", "off": off} for name in names]


_ACROSS = {name: leads(f"capacitor_{name}", "capacitor_common") for name in ("herm", "fan")}
_NEW_CAN = {"act": "capacitor", "can": "outdoor", "sections_f": {"herm": 45e-6, "fan": 5e-6}}


def _low_blend(speed: float) -> list[Step]:
    """It hums: a capacitor at a fifth of its label is renewed and a lug tightened; then a few ounces, by the scale."""
    hands = Hands(speed)
    hands.make_dead("ab", "dual")
    hands.do(page("answer", "C"), *leads_off("herm", "fan"), dial("capacitance"))
    hands.hold(_ACROSS["herm"])
    hands.do(page("until", "capacitor_measured"), leads(), _NEW_CAN, page("answer", "replacement"))
    hands.hold(_ACROSS["herm"], _ACROSS["fan"])
    hands.do(page("keep all", ""))
    hands.do(*leads_off("herm", "fan", off=False), {"act": "lug", "lug": "compressor_common"}, dial("ac_voltage"))
    hands.do(leads("compressor_common_wire", "compressor_common"))  # while it is dead: they stay for the run
    hands.power()
    hands.at_s += 510.0
    hands.do(leads(), then_s=700.0)
    hands.do({"act": "hose", "port": "suction", "on": True}, then_s=60.0)
    hands.do({"act": "cylinder", "open_ratio": 0.5}, then_s=90.0)
    hands.do({"act": "cylinder", "open_ratio": 0.0}, then_s=1000.0)
    hands.do(page("verdict", "capacitor"), {"act": "hose", "port": "suction", "on": False}, then_s=60.0)
    hands.do(leads())
    return hands.steps


def _weak_capacitor(speed: float) -> list[Step]:
    """Reads well cold with its leads off; under load it fails; renewed, and it runs."""
    hands = Hands(speed)
    hands.make_dead("ab", "dual")
    hands.do(page("answer", "C"), *leads_off("herm", "fan"), dial("capacitance"))
    hands.hold(_ACROSS["herm"], _ACROSS["fan"])
    hands.do(*leads_off("herm", "fan", off=False), dial("ac_voltage"), _ACROSS["herm"])
    hands.do({"act": "clamp", "lead": "capacitor_herm"})  # through the cover's own openings
    hands.power()
    hands.at_s += 1090.0
    hands.do(page("keep all", ""))
    hands.make_dead("ab", "dual")
    hands.do(*leads_off("herm", "fan"), _NEW_CAN, dial("capacitance"))
    hands.hold(_ACROSS["herm"], _ACROSS["fan"])
    hands.do(*leads_off("herm", "fan", off=False), leads(), {"act": "clamp"}, dial("ac_voltage"))
    hands.power()
    hands.at_s += 700.0
    hands.do(leads())
    return hands.steps


def _loose_lug(speed: float) -> list[Step]:
    """Measure the drop across a joint of a phase while it runs, lock out again, tighten."""
    hands = Hands(speed)
    over_it = leads("compressor_a_wire", "compressor_a")
    hands.make_dead("abc", "single")
    hands.do(page("answer", "C"), dial("ac_voltage"), over_it)
    hands.power()
    hands.at_s += 525.0
    hands.do(page("keep all", "and the joint, which stands alone"))
    hands.make_dead("abc", "single")
    hands.do({"act": "lug", "lug": "compressor_a"}, dial("ac_voltage"), over_it)
    hands.power()
    hands.at_s += 530.0
    hands.do(leads())
    return hands.steps


def _backwards(speed: float) -> list[Step]:
    """Watch it start, lock out, exchange two leads, start again."""
    hands = Hands(speed, at_s=20.0)
    hands.do({"act": "disconnect", "closed": False}, then_s=4.0)
    hands.do({"act": "disconnect", "closed": True}, then_s=396.0)
    hands.make_dead("abc", "single")
    hands.do(page("answer", "C"), {"act": "swap_leads", "one": "a", "other": "b"}, leads())
    hands.power()
    hands.at_s += 400.0
    hands.do(leads())
    return hands.steps


def _dirty_condenser() -> list[Step]:
    """Hear what the readings come to, switch it off, wash the coil, and let it dry and settle."""
    return [
        (400.0, page("advice", "causes")),
        (430.0, {"act": "disconnect", "closed": False}),
        (460.0, {"act": "condenser", "air_ratio": 1.0}),
        (520.0, {"act": "disconnect", "closed": True}),
        (1900.0, leads()),
    ]


def _one_of_two() -> list[Step]:
    """Read the first circuit, take the probes to the second and say so, put a few ounces in, wait."""
    return [
        (480.0, page("answer", "close_panel")),
        (500.0, {"act": "probes", "circuit": "2"}),
        (501.0, page("put all on", "2")),
        (1300.0, {"act": "hose", "port": "suction", "on": True}),
        (1310.0, {"act": "cylinder", "open_ratio": 0.5}),
        (1390.0, {"act": "cylinder", "open_ratio": 0.0}),
        (2600.0, page("verdict", "undercharge")),
        (2620.0, {"act": "hose", "port": "suction", "on": False}),
    ]


def _new_and_short(speed: float) -> list[Step]:
    """Find the cover off, want to add, make it dead, put the cover on, start it again, add, wait."""
    hands = Hands(speed)
    hands.do({"act": "panel", "on": False}, page("check", "close_panel"), page("doubted", "4 oz"), then_s=20.0)
    hands.make_dead("ab", "dual")
    hands.do(page("answer", "look_first"))
    hands.power()
    hands.at_s += 1200.0
    hands.do({"act": "hose", "port": "suction", "on": True}, then_s=10.0)
    hands.do({"act": "cylinder", "open_ratio": 0.5}, then_s=80.0)
    hands.do({"act": "cylinder", "open_ratio": 0.0}, then_s=1210.0)
    hands.do(page("verdict", "undercharge"), {"act": "hose", "port": "suction", "on": False}, then_s=20.0)
    return hands.steps


def _cold_gusts() -> list[Step]:
    """Hear what is advised of a unit that heats."""
    return [(600.0, page("advice", "causes")), (900.0, leads())]


HANDS: Mapping[str, Callable[[float], Sequence[Step]]] = {
    "hums_and_trips": _low_blend,
    "fades_when_hot": _weak_capacitor,
    "warm_lug": _loose_lug,
    "turns_backwards": _backwards,
    "dirty_condenser": lambda _: _dirty_condenser(),
    "cold_gusts": lambda _: _cold_gusts(),
    "one_of_two": lambda _: _one_of_two(),
    "new_and_short": _new_and_short,
}
"""By scenario, at how much faster than life the unit runs."""
