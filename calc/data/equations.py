"""The equations of state of refrigerants, from CoolProp, with the pairs of components that it has nothing of.

An equation of a mixture needs parameters for each pair of its components. None are published for isopentane with R-32,
R-125 and R-134a, which make R-438A: those for n-butane are taken, an alkane too. By them R-438A boils at atmospheric
pressure from -42.5 to -36.2 °C; ASHRAE 34 has about -43.0 to -36.4 °C (from memory). Rules that take the two of a pair
for alike put the dew point 3 K higher.
"""

import re

from CoolProp.CoolProp import (
    AbstractState,
    apply_simple_mixing_rule,
    get_mixture_binary_pair_data,
    set_mixture_binary_pair_data,
)

_N_BUTANE, _ISOPENTANE = "106-97-8", "78-78-4"
_LACKING_ISOPENTANE = ("75-10-5", "354-33-6", "811-97-2")
"""CAS numbers of R-32, R-125 and R-134a."""
_SHARE = re.compile(r"([^&\[]+)\[([^\]]+)\]")


def state_of(equation_of_state: str) -> AbstractState:
    """Give a state to be updated, of a fluid by CoolProp's name: "R32", "R454B.mix", or "R32[0.7]&R125[0.3]" by moles.

    Raises:
        ValueError: CoolProp has no such fluid, or lacks a pair of its components.

    """
    shares = _SHARE.findall(equation_of_state)
    if not shares:
        return AbstractState("HEOS", equation_of_state)
    state = AbstractState("HEOS", "&".join(name for name, _ in shares))
    state.set_mole_fractions([float(share) for _, share in shares])
    return state


def _as_with_butane(component: str) -> None:
    """Give a component the parameters with isopentane that it has with n-butane.

    CoolProp keeps a pair in the order of the CAS numbers as text; beta of a pair exchanged is its inverse.
    """
    apply_simple_mixing_rule(component, _ISOPENTANE, "Lorentz-Berthelot")
    known, lacking = sorted((component, _N_BUTANE)), sorted((component, _ISOPENTANE))
    exchanged = (known[0] == component) != (lacking[0] == component)
    for parameter in ("betaT", "gammaT", "betaV", "gammaV"):
        value = float(get_mixture_binary_pair_data(known[0], known[1], parameter))
        of_order = exchanged and parameter.startswith("beta")
        set_mixture_binary_pair_data(lacking[0], lacking[1], parameter, 1 / value if of_order else value)


for _component in _LACKING_ISOPENTANE:
    _as_with_butane(_component)
