"""Invented units for tests: one written down, and any that may stand in a register."""

from typing import Any

from hypothesis import strategies as st

from calc import refrigerants
from ingest.wire.messages import Capacitor, Circuit, Contactor, Motor, Sheet
from ingest.wire.sheet import Roof
from ingest.wire.texts import as_seen, is_empty

CORRECT = Sheet(
    tag="RTU-M2D-1",
    place="Harbour Street library, roof, south row",
    circuits=[
        Circuit("1", "R-410A", "txv", charge_kg=3.40194, charge_known_by="nameplate", target_subcooling_dk=5.5),
        Circuit("2", "R-454B", "fixed_orifice", charge_kg=2.5, line_m=12.0, liquid_line_m=0.009525),
    ],
    parts=[
        Motor("compressor 1", drives="compressor", circuit="1", rated_current_a=12.0, locked_rotor_a=70.0, volts=230.0),
        Motor("compressor 2", drives="compressor", circuit="2", rated_current_a=10.0),
        Motor("condenser fan", drives="condenser_fan", rated_current_a=2.0),
        Capacitor("run capacitor", herm_f=40e-6, fan_f=5e-6, tolerance_share=0.06, volts=440.0),
        Contactor("contactor", coil_volts=24.0, poles=2),
    ],
    volts=230.0,
    phases=1,
    hertz=60.0,
)
"""Two circuits, with most of what a sheet can say. Invented."""


def _texts(least: int = 0, most: int = 30) -> st.SearchStrategy[str]:
    signs = st.characters(exclude_categories=("C", "Z"), include_characters=" =+-@'\",;_/#%")
    return (
        st.text(signs, min_size=least, max_size=most)
        .map(str.strip)
        .filter(lambda text: not least or not is_empty(text))
    )


def _maybe(low: float, high: float) -> st.SearchStrategy[float | None]:
    return st.none() | st.floats(low, high)


_IDS = st.lists(st.text("abcXYZ019-_", min_size=1, max_size=12), max_size=3)


@st.composite
def charts(draw: st.DrawFn) -> list[tuple[float, float, float]]:
    """A charging chart, perhaps with a blank."""
    wet, outdoor = (
        draw(st.lists(st.integers(low, high), min_size=2, max_size=4, unique=True))
        for low, high in ((283, 298), (285, 320))
    )
    points = [(wet_k + 0.15, outdoor_k + 0.15, draw(st.floats(0.1, 25.0))) for wet_k in wet for outdoor_k in outdoor]
    return points[1:] if len(wet) + len(outdoor) > 4 and draw(st.booleans()) else points


@st.composite
def circuits(draw: st.DrawFn, name: str) -> Circuit:
    """A circuit of this name."""
    charge_kg = draw(_maybe(1e-3, 999.0))
    known_by = draw(st.sampled_from(["", "nameplate", "weighed_in", "calculated"])) if charge_kg is not None else ""
    device = draw(st.sampled_from(["fixed_orifice", "txv", "eev"]))
    has_chart = device == "fixed_orifice" and draw(st.booleans())
    return Circuit(
        name,
        draw(st.sampled_from(sorted(refrigerants.names()))),
        device,  # type: ignore[arg-type] # one of them
        charge_kg=charge_kg,
        charge_known_by=known_by,  # type: ignore[arg-type] # one of them
        target_superheat_dk=None if has_chart else draw(_maybe(0.1, 40.0)),
        superheat_chart_k=draw(charts()) if has_chart else (),
        target_subcooling_dk=draw(_maybe(0.1, 40.0)),
        high_side_design_pressure_pa=draw(_maybe(1e6, 2e7)),
        low_side_design_pressure_pa=draw(_maybe(1e5, 2e7)),
        included_line_m=draw(_maybe(0.1, 300.0)),
        line_m=draw(_maybe(0.1, 300.0)),
        liquid_line_m=draw(_maybe(0.003, 0.1)),
        ports=draw(st.lists(st.sampled_from(["suction", "liquid", "discharge"]), unique=True)),
        appliance=draw(st.sampled_from(["", "comfort_cooling", "industrial_process_refrigeration"])),
        is_light_commercial=draw(st.none() | st.booleans()),
        is_sealed=draw(st.booleans()),
        has_leak_detection=draw(st.booleans()),
    )


@st.composite
def parts(draw: st.DrawFn, name: str, names_of_circuits: list[str]) -> Motor | Capacitor | Contactor:
    """A part of this name, of any kind."""
    photographs = draw(_IDS)
    match draw(st.sampled_from(["motor", "capacitor", "contactor"])):
        case "motor":
            rated_a = draw(_maybe(0.5, 100.0))
            return Motor(
                name,
                photographs,
                drives=draw(st.sampled_from(["compressor", "condenser_fan", "blower", "other"])),
                circuit=draw(st.sampled_from(["", *names_of_circuits])),
                rated_current_a=rated_a,
                locked_rotor_a=draw(_maybe(101.0, 8000.0)),
                volts=draw(_maybe(100.0, 1000.0)),
                phases=draw(st.sampled_from([1, 3])),
            )
        case "capacitor":
            return Capacitor(
                name,
                photographs,
                herm_f=draw(_maybe(5e-7, 5e-4)),
                fan_f=draw(_maybe(5e-7, 5e-4)),
                tolerance_share=draw(_maybe(0.001, 0.25)),
                volts=draw(_maybe(100.0, 1000.0)),
                hertz=draw(_maybe(45.0, 65.0)),
                date_code=draw(_texts()),
            )
        case _:
            return Contactor(
                name, photographs, coil_volts=draw(_maybe(5.0, 600.0)), poles=draw(st.none() | st.integers(1, 4))
            )


@st.composite
def roofs(draw: st.DrawFn) -> Roof:
    """The roof of a unit, of which something is known."""
    share = st.floats(0.0, 1.0)
    hatch = draw(st.none() | st.tuples(share, share))
    known = [draw(_maybe(0.0, 360.0)), hatch, draw(_maybe(1.0, 2000.0)), draw(_maybe(1.0, 2000.0))]
    name = draw(_texts(0 if any(each is not None for each in known) else 1))
    return Roof(name, *known)


@st.composite
def sheets(draw: st.DrawFn) -> Sheet:
    """Any sheet that may be kept."""
    known = st.lists(_texts(1, 12), min_size=1, max_size=3, unique=True)
    names = draw(known)
    taken = {as_seen(name) for name in names}  # a part is named otherwise than any circuit
    of_parts = draw(st.lists(_texts(1, 12).filter(lambda it: as_seen(it) not in taken), max_size=4, unique=True))
    share = st.floats(0.0, 1.0)
    told: dict[str, Any] = {
        "place": draw(_texts()),
        "country": draw(st.sampled_from(["", "US", "DE", "CA"])),
        "access": draw(_texts()),
        "at": draw(st.none() | st.tuples(share, share)),
        "roof": draw(st.none() | roofs()),
        "sketch": draw(st.just("") | st.text("abc09-_", min_size=1, max_size=8)),
        "mode": draw(st.sampled_from(["cooling", "heat_pump"])),
        "model": draw(_texts()),
        "serial": draw(_texts()),
        "volts": draw(_maybe(100.0, 1000.0)),
        "phases": draw(st.sampled_from([1, 3])),
        "hertz": draw(_maybe(45.0, 65.0)),
        "mca_a": draw(_maybe(0.5, 4000.0)),
        "mocp_a": draw(_maybe(0.5, 4000.0)),
        "parts": [draw(parts(name, names)) for name in of_parts],
        "photographs": draw(_IDS),
    }
    return Sheet(draw(_texts(1, 12)), [draw(circuits(name)) for name in names], **told)
