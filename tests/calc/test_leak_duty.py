"""Which federal rule on leaks covers a circuit, in words of either system."""

import pytest

from calc.leak_duty import checks, duty
from calc.sentences import say

POUND_KG = 0.45359237  # NIST SP 811, B.8


@pytest.mark.parametrize(
    ("refrigerant", "pounds", "left_out", "paragraph", "kind"),
    [
        ("R-22", 50.0, None, "40 CFR 82.157", "leak_rule.covers_ozone"),  # 82.157(a): 50 lb and more
        ("R-22", 49.99, None, "", "leak_rule.none"),
        ("R-410A", 15.0, False, "40 CFR 84.106", "leak_rule.covers_substitute"),  # 84.106(a): 15 lb and more
        ("R-410A", 14.99, False, "", "leak_rule.none"),
        ("R-410A", 200.0, True, "", "leak_rule.none"),  # the subsector that is left out
        ("R-410A", 200.0, None, "", "leak_rule.ask_owner"),
        ("R-410A", 7.5, None, "", "leak_rule.none"),
        ("R-290", 200.0, False, "", "leak_rule.none"),  # GWP 3, not above 53
        ("R-410A", None, False, "", "leak_rule.no_charge"),
    ],
)
def test_the_rule_that_covers_a_circuit(
    refrigerant: str, pounds: float | None, left_out: bool | None, paragraph: str, kind: str
) -> None:
    charge_kg = None if pounds is None else pounds * POUND_KG
    found = duty(refrigerant, charge_kg, is_light_commercial=left_out)
    assert (found.paragraph, found.says.kind) == (paragraph, kind)


@pytest.mark.parametrize(
    ("refrigerant", "pounds", "left_out", "us", "si"),
    [
        (
            "R-410A",
            7.5,
            None,
            "R-410A depletes no ozone (40 CFR 82.157), and its full charge of 7 lb 8 oz is below 15 lb (84.106)",
            "and its full charge of 3.40 kg is below 6.80 kg (84.106)",
        ),
        (
            "R-22",
            30.0,
            None,
            "because its full charge of 30 lb is below 50 lb (40 CFR 82.157), and R-22 is ozone-depleting (84.106)",
            "because its full charge of 13.61 kg is below 22.68 kg (40 CFR 82.157)",
        ),
        ("R-410A", 20.0, True, "and residential and light commercial comfort cooling is left out (84.106)", "left out"),
        ("R-290", 20.0, False, "and the warming potential of R-290 is 3, not above 53 (84.106)", "is 3, not above 53"),
    ],
)
def test_why_none_covers_it_is_said_in_the_readers_units(
    refrigerant: str, pounds: float, left_out: bool | None, us: str, si: str
) -> None:
    says = duty(refrigerant, pounds * POUND_KG, is_light_commercial=left_out).says
    assert say(says, "us").startswith("No federal leak rule covers this circuit, because ")
    assert us in say(says, "us")
    assert si in say(says, "si")
    assert "lb" not in say(says, "si")


@pytest.mark.parametrize(
    ("mass_kg", "tonnes", "months", "us", "si"),
    [
        (2.3, "4.8", None, "5 lb 1 oz of R-410A is 4.8 t of CO2 equivalent", "asks for no regular check for leaks."),
        (
            2.4,
            "5.0",
            12,
            "5 lb 5 oz of R-410A is 5.0 t of CO2 equivalent",
            "a check for leaks every 12 months at least.",
        ),
    ],
)
def test_from_when_on_the_union_asks_for_checks_is_said_in_the_readers_units(
    mass_kg: float, tonnes: str, months: int | None, us: str, si: str
) -> None:
    """5 t of R-410A are 2.4 kg, and 2088 kg of carbon dioxide each: gov.uk, as in the tests of the intervals."""
    found = checks("R-410A", mass_kg, has_leak_detection=False, is_sealed=False)
    assert (f"{found.tonnes:.1f}", found.months) == (tonnes, months)
    assert say(found.says, "us").startswith(us)
    assert say(found.says, "si").startswith(f"{mass_kg:.2f} kg of R-410A")
    assert say(found.says, "si").endswith(si)
