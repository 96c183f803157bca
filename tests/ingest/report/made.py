"""A report made by hand, of the kinds of blocks that there are; unit, people and figures are invented."""

import io
import math

from PIL import Image

from ingest.report.document import (
    At,
    Fields,
    Headline,
    Items,
    Line,
    Paragraph,
    Picture,
    Report,
    Section,
    Signature,
    Statement,
    Table,
    Trace,
)

START_S = 1_780_160_700.0
"""30 May 2026, 12:05 in Chicago."""
PHOTOGRAPHS = ("ph1", "ph2")
STROKES = [
    [(0.05 + 0.009 * n, 0.55 - 0.35 * math.sin(n / 4) * math.exp(-n / 60)) for n in range(90)],
    [(0.1, 0.85), (0.5, 0.8), (0.93, 0.83)],
]

FINDING_IT = [
    ("Tag", "RTU-P9T-3"),
    ("Way up", "ladder, east wall"),
    ("Disconnect", "on the unit, left of the panel"),
    ("Hazards", "edge 6 ft to the south; wasps in May"),
]
PLATE = [
    ("Refrigerant", "R-410A, 7 lb 4 oz"),
    ("Metering", "TXV"),
    ("RLA / LRA", "16.4 / 112 A"),
    ("Supply", "208/230 V, 1 phase"),
    ("MCA / MOCP", "22.6 / 35 A"),
    ("Capacitor", "45 + 5 µF, 440 V"),
]
LAW = [
    ("Identity and location", "RTU-P9T-3, Harbour Street library"),
    ("Date of service", "30 May 2026"),
    ("Full charge", "7 lb 4 oz, from the nameplate"),
    ("Leak inspection", "30 May 2026; none found"),
]


def said(text: str, *evidence: str) -> Statement:
    return Statement(text, evidence or ("visit v1",))


def fields(*rows: tuple[str, str]) -> Fields:
    return Fields([(name, said(text)) for name, text in rows])


def table(columns: list[str], rows: list[list[str]]) -> Table:
    return Table(columns, [[said(cell) for cell in row] for row in rows])


def photograph(mark: str) -> bytes | None:
    if mark not in PHOTOGRAPHS:
        return None
    picture = Image.radial_gradient("L").resize((640, 480)).convert("RGB")
    data = io.BytesIO()
    picture.save(data, "JPEG", quality=80)
    return data.getvalue()


def trace(points: int = 4000) -> Trace:
    times_s = [START_S + 1500 + 0.75 * n for n in range(points)]
    falling = [11.2 + 9 * math.exp(-n / 700) + 0.2 * math.sin(n / 9) for n in range(points)]
    rising: list[float | None] = [9.5 - 6 * math.exp(-n / 900) + 0.1 * math.sin(n / 7) for n in range(points)]
    rising[1500:1700] = [None] * 200
    amps = [14.2 + 0.4 * math.sin(n / 300) for n in range(points)]
    return Trace(
        [
            Line("Superheat", "°F", times_s, falling),
            Line("Subcooling", "°F", times_s, rising),
            Line("Compressor", "A", times_s, amps),
        ],
        [
            At(START_S + 1500, said("12:30 started", "m11")),
            At(START_S + 2700, said("12:50 added 6 oz as liquid", "m12")),
            At(START_S + 4200, said("13:15 settled", "m13")),
        ],
    )


def report(*, signed: bool = True, longer: int = 0, extra: str = "", system: str = "us") -> Report:
    """Make a report. longer: so many rows more on the back. extra: a text that stands on the front."""
    front = [
        Section("", [Headline(said("RTU-P9T-3 runs and cools."))]),
        Section(
            "You told us, and now",
            [
                Fields(
                    [
                        ("You told us", said("“It stops every hot afternoon.”", "m2")),
                        ("Now", said("Gone: it ran an hour at 93 °F outdoors without a stop (we measured).", "m30")),
                    ]
                )
            ],
        ),
        Section(
            "What we found",
            [
                Paragraph(
                    [
                        said("The outdoor coil was matted with lint (we saw, photograph 1).", "m5"),
                        said(
                            "It could not give off its heat, and its own safety switch stopped it (we measured).",
                            "m6",
                        ),
                        said("Why: the dryer vent beside it blows at the coil (we saw)."),
                        *([said(extra)] if extra else []),
                    ]
                )
            ],
        ),
        Section(
            "What we did",
            [Items([said("Washed the outdoor coil, both sides."), said("Tightened one joint in the panel.")])],
        ),
        Section(
            "Before and after",
            [
                Table(
                    ["", "Before", "After"],
                    [
                        [said("Air in and out, cooling"), said("11 °F colder"), said("19 °F colder")],
                        [said("Compressor current, of what its plate allows"), said("97 %"), said("81 %")],
                        [said("Refrigerant by the maker’s own figure"), said("looked like too much"), said("right")],
                        [said("Supply voltage"), said("228 V"), said("229 V")],
                    ],
                ),
                Paragraph([said("The same conditions: 93 °F outdoors before, 94 °F after.")]),
                Picture("ph1", said("Photograph 1: the outdoor coil as it was found, 12:20.")),
                Picture("ph2", said("Photograph 2: the coil after the wash, 13:40.")),
            ],
        ),
        Section(
            "What we could not tell, or did not check",
            [
                Items(
                    [said("How much air the ducts carry: it was not measured."), said("The ducts were not looked at.")]
                )
            ],
        ),
        Section(
            "Refrigerant",
            [
                Paragraph(
                    [
                        said("R-410A, which does not burn. None was added, none was removed."),
                        said("This circuit’s total since it is known: 1 lb 2 oz added on 4 July 2024."),
                        said("A leak was looked for at the outdoor joints with a detector; none was found."),
                        said("No federal leak rule covers this circuit, because it holds less than 15 lb."),
                    ]
                )
            ],
        ),
        Section(
            "What to do, and by when",
            [Items([said("Have the dryer vent turned away by 1 July 2026, or the lint returns.")])],
        ),
        Section(
            "Safety",
            [
                Paragraph(
                    [
                        said("This page records work that was done. It is no inspection, and promises nothing beyond."),
                        said(
                            "If it smells, hums or trips again, switch it off and call the number on the unit’s label."
                        ),
                    ]
                )
            ],
        ),
        Section(
            "Who",
            [
                Fields(
                    [
                        ("Technician", said("Sam Ostrander, Lakeside Cooling, certificate type II, 0-12345")),
                        ("There", said("30 May 2026, 12:05 to 13:50")),
                        ("Unit", said("RTU-P9T-3, Harbour Street library, roof, south row")),
                        ("Owner", said("not recorded")),
                    ]
                ),
                Signature("Technician", said("Sam Ostrander, 30 May 2026, 13:48"), STROKES if signed else ()),
                Signature("Owner", said("not recorded")),
            ],
        ),
    ]
    figures = [
        ["Superheat", "20.1 °F", "11.4 °F", "11.2 °F", "± 0.9", "± 5 °F, maker’s chart", "met"],
        ["Subcooling", "3.4 °F", "9.6 °F", "10.0 °F", "± 1.1", "± 3 °F, nameplate", "met"],
        ["Suction pressure", "108 psig", "131 psig", "", "± 1.2", "", ""],
        ["Liquid pressure", "471 psig", "352 psig", "", "± 3.5", "", ""],
        ["Compressor, run", "15.9 A", "13.3 A", "16.4 A", "± 0.3", "rated load, nameplate", "met"],
        ["Capacitor, herm", "44.1 µF", "44.0 µF", "45 µF", "± 0.5", "± 6 %, its label", "met"],
    ]
    checks = [["Check of the work card", "done", "measured", "45.1 µF"]] * (8 + longer)
    start = "Look at the vent first: if it still blows at the coil, everything else is noise."
    told = "Told: do not add, the condenser does not give off its heat. Taken."
    probe = ["low side probe", "1 psi", "4 March 2026", "at rest, against the high side: agree"]
    columns = ["", "Before", "After", "Target", "±", "Limit and its source", "Verdict"]
    back = [
        Section(
            "Start here", [Paragraph([said("It stands running on its own thermostat.", "m40"), said(start, "m40")])]
        ),
        Section("Finding it", [fields(*FINDING_IT)]),
        Section("Plate", [fields(*PLATE)]),
        Section("Figures", [table(columns, figures)]),
        Section("Time line", [trace(), Items([said("12:05 arrived"), said("12:12 off, locked, proved dead")])]),
        Section("Checks", [table(["Check", "Outcome", "Known by", "Value"], checks)]),
        Section("Advice given", [Items([said(told)])]),
        Section("Instruments", [table(["Instrument", "±", "Calibrated", "Checked today"], [probe])]),
        Section("The law’s fields", [fields(*LAW)]),
    ]
    return Report(
        visit="v-20260530-1705",
        tag="RTU-P9T-3",
        place="Harbour Street library, roof, south row",
        system=system,  # type: ignore[arg-type]
        zone="America/Chicago",
        signed=signed,
        made_s=START_S + 6300,
        code="K7Q4-9XM",
        digest="3b9aca07" * 8,
        marks=57,
        front=front,
        back=back,
    )
