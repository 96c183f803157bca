"""What the sheet of a unit says that a check asks for: nobody types a label twice."""

from collections.abc import Mapping

from ingest.wire.sheet import Capacitor, Contactor, Motor, Part, Sheet


def plated(check: str, part: str, choices: Mapping[str, str], sheet: Sheet) -> dict[str, float]:
    """Give the values of a check that nameplates and labels give, by their names there [SI].

    part: which is meant; where none is named and the unit has one of its kind, that one.

    >>> dual = Capacitor("run capacitor", herm_f=45e-6, fan_f=5e-6, tolerance_share=0.06)
    >>> plated("capacitor_measured", "", {}, Sheet("RTU-4", (), parts=(dual,)))
    {'label.herm': 4.5e-05, 'label.fan': 5e-06, 'tolerance': 0.06}

    """
    said: Mapping[str, float | None] = {}
    match check, _part(check, part, choices, sheet):
        case ("supply", _):
            said = {"nameplate.low": sheet.volts}
        case ("conductor", _):
            said = {"load": sheet.mca_a}
        case ("capacitor_measured" | "capacitor_by_eye", Capacitor() as can):
            said = {"label.herm": can.herm_f, "label.fan": can.fan_f, "tolerance": can.tolerance_share}
        case ("capacitor_under_load", Capacitor() as can):
            label_f = can.fan_f if choices.get("section") == "fan" else can.herm_f
            said = {"label": label_f, "tolerance": can.tolerance_share, "hertz": sheet.hertz}
        case ("replacement", Capacitor() as can):
            said = {
                "old_label.herm": can.herm_f,
                "old_label.fan": can.fan_f,
                "rated_volts.old": can.volts,
                "hertz.old": can.hertz,
            }
        case ("contactor_live", Contactor() as contactor):
            said = {"coil_rated": contactor.coil_volts}
        case ("motor_amps", Motor(drives="compressor") as motor):
            said = {"rated": motor.rated_current_a, "nameplate": sheet.volts}
        case ("motor_amps" | "power_back", Motor() as motor):
            said = {"rated": motor.rated_current_a}
    return {name: value for name, value in said.items() if value is not None}


def sections_known(check: str, part: str, sheet: Sheet | None, discharged: str) -> dict[str, str]:
    """Answer which sections a capacitor has, as far as its label in the sheet, or what was discharged, tells.

    discharged: the sections that were said as it was discharged at this visit. That it was one does not tell which.

    >>> sections_known("capacitor_measured", "", None, "dual")
    {'sections': 'dual'}

    """
    if check not in ("capacitor_measured", "discharge"):
        return {}
    can = None if sheet is None else _part(check, part, {}, sheet)
    there = [it for it in ("herm", "fan") if isinstance(can, Capacitor) and getattr(can, f"{it}_f") is not None]
    if len(there) == 1:
        return {"sections": "single" if check == "discharge" else there[0]}
    is_dual = len(there) > 1 or (check != "discharge" and discharged == "dual")
    return {"sections": "dual"} if is_dual else {}


def _part(check: str, name: str, choices: Mapping[str, str], sheet: Sheet) -> Part | None:
    if name:
        return next((part for part in sheet.parts if part.name == name), None)
    if check in ("motor_amps", "power_back"):
        drives = choices.get("motor", "compressor" if check == "power_back" else "")
        motors = [part for part in sheet.parts if isinstance(part, Motor) and part.drives == drives]
        return motors[0] if len(motors) == 1 else None
    kind = Contactor if check in ("contactor", "contactor_live") else Capacitor
    alike = [part for part in sheet.parts if isinstance(part, kind)]
    return alike[0] if len(alike) == 1 else None
