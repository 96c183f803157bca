"""The page about scripts: its example can be played, and every act and unit of an amount that it names is there."""

import re
from pathlib import Path
from typing import get_args

import msgspec

from ingest.wire.asks import ANY_ASK
from ingest.wire.bench_acts import ACTS
from simulators.bench.instruments import further_instruments
from simulators.bench.scenario import FaultsSection, parse_scenario
from simulators.bench.script import load_script

PAGE = (Path(__file__).parents[2] / "docs" / "scripts.md").read_text(encoding="utf-8")


def test_the_example_can_be_played(tmp_path: Path) -> None:
    script = tmp_path / "visit.toml"
    script.write_text(re.findall(r"```toml\n(.*?)```", PAGE, re.DOTALL)[0], encoding="utf-8")
    steps = load_script(script).steps
    assert next(step.says for step in steps if step.says) == "The meter is proved on the supply, which is live."
    assert len(steps) == 7


def test_the_scenario_of_ones_own_can_be_played_and_every_fault_is_named() -> None:
    example = re.findall(r"```toml\n(.*?)```", PAGE, re.DOTALL)[1]
    scenario = parse_scenario(example.encode(), "the page")
    assert scenario.truth is not None
    assert scenario.parameters.faults.fan_capacitor == 0.4
    listed = re.search(r"any of:(.*?)\n\n", example, re.DOTALL)
    assert listed is not None
    named = re.findall(r"\w+", re.sub(r'fan_capacitor = "40 %"', "", listed[1]))
    assert sorted(named) == sorted(field.name for field in msgspec.structs.fields(FaultsSection))
    assert all(f'"{name}"' in example for name in further_instruments())


def test_it_names_every_act_and_only_asks_that_there_are() -> None:
    named = re.search(r"docs/asyncapi\.yaml, with its fields:(.*?)\.\n", PAGE, re.DOTALL)
    assert named is not None
    assert re.findall(r"`(\w+)`", named[1]) == [act.__struct_config__.tag for act in ACTS]
    asked = re.search(r"a technician may send, such as (.*?), with", PAGE, re.DOTALL)
    assert asked is not None
    assert set(re.findall(r"`(\w+)`", asked[1])) <= {str(ask.__struct_config__.tag) for ask in get_args(ANY_ASK)}
