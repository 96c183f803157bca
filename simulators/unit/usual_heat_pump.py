"""A usual heat pump: a split unit of 3 tons on R-410A, with the parts that heating needs.

Its coils are nearer each other in size than those of a unit that only cools, since each does both kinds of work.
"""

from dataclasses import replace

from simulators.unit.compressor import Compressor
from simulators.unit.condenser import Condenser
from simulators.unit.controls import CutOuts
from simulators.unit.evaporator import Evaporator
from simulators.unit.heat_pump import HeatPump
from simulators.unit.parameters import UnitParameters
from simulators.unit.sump import Sump

USUAL_HEAT_PUMP = replace(
    UnitParameters(),
    heat_pump=HeatPump(),
    compressor=Compressor(
        volumetric_efficiency_slope=0.04, best_isentropic_efficiency=0.70, isentropic_efficiency_droop=0.05
    ),
    condenser=Condenser(volume_m3=5.8e-3),
    evaporator=Evaporator(volume_m3=4.4e-3),
    sump=Sump(heater_w=70.0),
    cut_outs=CutOuts(low_opens_k=232.0, low_closes_k=246.0),
)
"""Its low cut-out stands for a lost charge alone: in heating a sound one draws from far below freezing."""
