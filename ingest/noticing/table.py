"""Every recogniser that there is, by its name. A new one is a file beside these, and a line here."""

from collections.abc import Callable, Mapping

from ingest.noticing.amps import AmpsSeen
from ingest.noticing.capacitors import SectionMeasured, SectionUnderLoad
from ingest.noticing.clamp import ClampMoved
from ingest.noticing.dead import LiveDeadLive
from ingest.noticing.discharge import Discharge
from ingest.noticing.joints import JointSeen
from ingest.noticing.moved import ProbeMoved
from ingest.noticing.nitrogen import NitrogenSeen
from ingest.noticing.pattern import PatternSeen
from ingest.noticing.power import PowerBack, PowerOff
from ingest.noticing.probes import ProbesSeen
from ingest.noticing.readings import SettledSeen
from ingest.noticing.scale import MoveSeen
from ingest.noticing.sight import Recogniser
from ingest.noticing.starting import StartSeen
from ingest.noticing.supply import SupplySeen
from ingest.noticing.vacuum import VacuumSeen

RECOGNISERS: Mapping[str, Callable[[], Recogniser]] = {
    "power_off": PowerOff,
    "power_back": PowerBack,
    "live_dead_live": LiveDeadLive,
    "discharge": Discharge,
    "capacitance": SectionMeasured,
    "under_load": SectionUnderLoad,
    "start": StartSeen,
    "supply": SupplySeen,
    "amps": AmpsSeen,
    "clamp": ClampMoved,
    "joint": JointSeen,
    "connection": ProbesSeen,
    "moved": ProbeMoved,
    "settled": SettledSeen,
    "scale": MoveSeen,
    "nitrogen": NitrogenSeen,
    "vacuum": VacuumSeen,
    "pattern": PatternSeen,
}
