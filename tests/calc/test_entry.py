"""An entry made from a signature: what its names and annotations tell is not said twice."""

import re
from importlib import import_module
from pkgutil import iter_modules

import pytest

from calc import calculations
from calc.arguments import NUMBER, YES_NO, Accuracy, Difference, ListOf, Measure, unit_of
from calc.calculation import Assumption, Values
from calc.calculations import CALCULATIONS
from calc.entry import Given, entry
from calc.quantities import Quantity

MEASURE, PRINT = "tests/calc/test_entry.py", "an example of this test"
HIDDEN = "kept from people"
TOPICS = [it.name for it in iter_modules(calculations.__path__)]


def weigh(
    charge_kg: float,
    steps_kg: tuple[float, ...],
    split_dk: float,
    scale_accuracy_kg: float,
    line_accuracy_dk: float,
    power_factor: float,
    *,
    is_tight: bool,
    barometric_pressure_pa: float,
    tare_kg: float = 0.5,
    hidden: str = HIDDEN,
) -> Values:
    """Give two of its arguments, to see what reached it."""
    return {"charge_kg": charge_kg, "tare_kg": tare_kg, "hidden": hidden}


GIVEN = {
    "charge_kg": Given("2lb", low=0.1),
    "steps_kg": Given("2lb, 3lb", high=5.0),
    "split_dk": Given("20degF", low=-60.0),
    "scale_accuracy_kg": Given("1oz", high=1.0),
    "line_accuracy_dk": Given("1degF"),
    "power_factor": Given("0.9", NUMBER, name="power_factor"),
    "is_tight": Given("yes"),
    "tare_kg": Given("1lb", otherwise="half a kilogram", says="stamped", also=("empty",)),
    "of_another_entry_pa": Given("1psi"),
}
ALL = {
    "charge_kg": 1.5,
    "steps_kg": (0.9, 1.4),
    "split_dk": 11.0,
    "scale_accuracy_kg": 0.03,
    "line_accuracy_dk": 0.5,
    "power_factor": 0.9,
    "is_tight": True,
    "barometric_pressure_pa": 101325.0,
}


def test_names_kinds_and_defaults_are_read_from_the_signature():
    made = entry(weigh, "a question", given=GIVEN, source=PRINT, test=MEASURE)
    assert [(it.name, it.keyword, it.kind) for it in made.parameters] == [
        ("charge", "charge_kg", Measure(Quantity.MASS, 0.1)),
        ("steps", "steps_kg", ListOf(Measure(Quantity.MASS, None, 5.0))),
        ("split", "split_dk", Difference(Quantity.TEMPERATURE, -60.0)),
        ("scale_accuracy", "scale_accuracy_kg", Accuracy(Quantity.MASS, 1.0)),
        ("line_accuracy", "line_accuracy_dk", Accuracy(Quantity.TEMPERATURE)),
        ("power_factor", "power_factor", NUMBER),
        ("is_tight", "is_tight", YES_NO),
        ("tare", "tare_kg", Measure(Quantity.MASS)),
    ]
    assert made.parameters[-1].otherwise == Assumption(0.5, "half a kilogram")
    assert made.parameters[-1].also == ("empty",)
    assert made.needs_site


def test_a_result_is_given_by_name_laid_out_or_named():
    def double(charge_kg: float) -> float:
        return 2 * charge_kg

    def made(**more):
        return entry(double, "twice", given=GIVEN, source=PRINT, test=MEASURE, **more).compute(charge_kg=1.5)

    assert made(result="twice_kg") == {"twice_kg": 3.0}
    assert made(result=lambda twice_kg: {"half_kg": twice_kg / 4}) == {"half_kg": 0.75}
    laid_out_already = entry(weigh, "a question", given=GIVEN, source=PRINT, test=MEASURE)
    assert laid_out_already.compute(**ALL, tare_kg=0.2) == {"charge_kg": 1.5, "tare_kg": 0.2, "hidden": HIDDEN}
    assert not entry(double, "twice", given=GIVEN, source=PRINT, test=MEASURE).needs_site


def test_an_argument_of_which_nothing_is_said_is_an_error_at_once():
    without = {name: given for name, given in GIVEN.items() if name != "split_dk"}
    with pytest.raises(TypeError, match="a question: nothing is said of the argument split_dk"):
        entry(weigh, "a question", given=without, source=PRINT, test=MEASURE)


def test_what_is_assumed_is_the_default_so_there_must_be_one():
    assumed = GIVEN | {"charge_kg": Given("2lb", otherwise="a full charge")}
    with pytest.raises(TypeError, match="charge_kg has no default for 'a full charge' to speak of"):
        entry(weigh, "a question", given=assumed, source=PRINT, test=MEASURE)


@pytest.mark.parametrize("topic", TOPICS)
def test_nothing_is_said_of_an_argument_that_no_entry_of_the_topic_takes(topic):
    """A name misspelt there would hide an argument that has a default from everyone."""
    module = import_module(f"calc.calculations.{topic}")
    taken = {it.keyword for calculation in module.CALCULATIONS.values() for it in calculation.parameters}
    tables = [table for table in vars(module).values() if isinstance(table, dict)]
    said = {name for table in tables for name, about in table.items() if isinstance(about, Given)}
    assert said
    assert said <= taken


def assumed_figures():
    for name, calculation in CALCULATIONS.items():
        for it in calculation.parameters:
            known = it.otherwise and it.otherwise.value is not None  # some defaults depend on the other arguments
            figure = known and re.search(r"[\d.]+ (°F|°C|%RH|%|A|V|psi|kPa|micron|min)(?!\w)", it.otherwise.says)
            if figure:
                yield pytest.param(it, figure[0], id=f"{name}-{it.name}")


@pytest.mark.parametrize(("parameter", "figure"), list(assumed_figures()))
def test_the_sentence_about_a_default_says_its_value(parameter, figure):
    """The default stands in a signature, the sentence in a table: who changes one must change the other."""
    conversion, _ = unit_of(parameter.kind, figure, None)
    assert conversion.from_si(parameter.otherwise.value) == pytest.approx(float(figure.split()[0]), rel=1e-5)


def test_the_sentences_of_a_score_of_defaults_are_read():
    assert len(list(assumed_figures())) >= 20
