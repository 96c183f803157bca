"""Finding it: the tag and how it was told, the place, the way up, the disconnect, and hazards of the place."""

from collections.abc import Iterator

from ingest.report.course import Course
from ingest.report.document import Block, Fields, Picture, Section, Statement
from ingest.report.said import NOT_RECORDED, missing_last, own_words, said
from ingest.visit.checklist import guided

_SHOWN = ("which_unit", "tag")


def finding_it(course: Course) -> Section:
    """Say it."""
    photographs = course.photographs()
    tags = [(name, found.id) for found in course.of(*_SHOWN) for name in found.photographs if name in photographs]
    blocks: list[Block] = [Fields(missing_last(_fields(course)))]
    blocks += [Picture(name, said("The tag.", name, by)) for name, by in tags[-1:]]
    sketch = course.sheet.sketch if course.sheet else ""
    if sketch in photographs:
        blocks.append(Picture(sketch, said("The roof, sketched.", sketch, course.sheet_id)))
    return Section("Finding it", blocks)


def _fields(course: Course) -> Iterator[tuple[str, Statement]]:
    def known(text: str, *ids: str) -> Statement:
        return said(own_words(text), *ids) if text.strip() else said(NOT_RECORDED, course.visit_id)

    sheet = course.sheet
    told_by = course.one("which_unit")
    how = _option("which_unit", "told_by", told_by.choices.get("told_by", "")) if told_by else ""
    yield "Tag", said(f"{course.known.tag}{f' ({how})' if how else ''}", course.visit_id, told_by.id if told_by else "")
    yield "Place", known(sheet.place if sheet else "", course.sheet_id)
    yield "Way up and key", known(sheet.access if sheet else "", course.sheet_id)
    yield "On its roof", known(_on_the_roof(course), course.sheet_id)
    isolated = course.one("isolate")
    yield (
        "Disconnect",
        known(isolated.choices.get("disconnect", "") if isolated else "", isolated.id if isolated else ""),
    )
    feeds = _option("isolate", "other_feeds", isolated.choices.get("other_feeds", "")) if isolated else ""
    yield "Other feeds", known(feeds, isolated.id if isolated else "")
    someone = course.one("complaint")
    thermostat = _option("complaint", "thermostat", someone.choices.get("thermostat", "")) if someone else ""
    yield "At the thermostat", known(thermostat, someone.id if someone else "")
    hazards = course.last_written("which_unit", "hazards")
    yield "Hazards of the place", said(*hazards, course.visit_id) if hazards else known("")


def _option(check: str, choice: str, chosen: str) -> str:
    """Give an answer as the check words it."""
    options = next(it.options for it in guided()[check].check.choices if it.name == choice)
    return options.get(chosen, "")


def _on_the_roof(course: Course) -> str:
    """Tell where on the drawing of its roof the unit is marked."""
    sheet = course.sheet
    if sheet is None or sheet.at is None:
        return ""
    across, down = (f"{round(100 * share)} %" for share in sheet.at)
    roof = sheet.roof
    named = f"{roof.name}: " if roof and roof.name else ""
    north = (
        f"; north is {round(roof.north_deg)}° clockwise from its upper edge"
        if roof and roof.north_deg is not None
        else ""
    )
    return f"{named}marked {across} from the left and {down} from the upper edge{north}"
