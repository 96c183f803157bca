"""The bench's heat pump as it heats and defrosts: what is advised, and that nothing of it is a reason to stop."""

from dataclasses import replace
from pathlib import Path

from ingest.advice.advisor import Advisor
from ingest.wire.messages import Advice, decode
from tests.ingest.noticing.courses import Bench
from tests.rigs import make_rig


def test_a_heat_pump_that_heats_gets_no_alarm_and_no_figure_of_cooling(tmp_path: Path) -> None:
    """At 35 °F outdoors and 70 °F indoors it condenses 65 °F over the outdoor air, and is sound all the same."""
    bench = Bench("cold_gusts", tmp_path, tick_s=1.0)
    rig = replace(make_rig(tmp_path), unit=bench.unit)
    advisor = Advisor(1.0, None)
    packs = list(bench.packs(300.0, figures=True))
    over_outdoor = packs[-1].readings["condensing_over_ambient"].value
    assert over_outdoor is not None
    assert over_outdoor > 60 / 1.8
    raised = [alarm for pack in packs for alarm in advisor.follow(pack, rig, bench.air_pa).raised]
    given = advisor.advise(packs[-1], rig, bench.air_pa, {})
    advice = decode(given.payload, Advice)
    assert (raised, advice.alarms, advice.doubts) == ([], [], [])
    assert (advice.state, advice.sentence.kind) == ("look", "headline.heating")
    assert [detail.kind for detail in advice.details] == ["detail.heating"]
    assert "heating chart" in advice.sentence.us
    warned = " ".join([*advice.cautions, *advice.cautions_once])
    assert "cylinder" not in warned  # nothing is moved
    assert "burn skin" in warned
    assert "starts by itself after it" in warned
    assert (advice.verification, advice.causes, advice.next_step) == (None, [], None)
    assert given.advised == ""


def test_a_defrost_gives_no_alarm_and_is_waited_through(tmp_path: Path) -> None:
    """The bench's controls turn the valve after half an hour of frost, and back again once the coil is clear."""
    bench = Bench("cold_gusts", tmp_path, tick_s=1.0)
    bench.rig.unit.step(1740.0)
    rig = replace(make_rig(tmp_path), unit=bench.unit)
    advisor, told, raised = Advisor(1.0, None), [], []
    for number, pack in enumerate(bench.packs(210.0, figures=True)):
        raised += advisor.follow(pack, rig, bench.air_pa).raised
        if number % 10 == 0:
            told.append(decode(advisor.advise(pack, rig, bench.air_pa, {}).payload, Advice).sentence.kind)
    assert raised == []
    assert {"headline.heating", "headline.defrost"} <= set(told)
