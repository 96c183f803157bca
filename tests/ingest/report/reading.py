"""What a report says, to look through: every statement, and every word."""

from collections.abc import Iterator

from ingest.report.document import (
    Block,
    Fields,
    Headline,
    Items,
    Paragraph,
    Picture,
    Report,
    Section,
    Signature,
    Statement,
    Table,
    Trace,
)


def of_sections(sections: Iterator[Section] | list[Section]) -> Iterator[Statement]:
    for section in sections:
        for block in section.blocks:
            yield from of_block(block)


def of_block(block: Block) -> Iterator[Statement]:
    match block:
        case Headline() | Picture() | Signature():
            yield block.says
        case Paragraph() | Items():
            yield from block.says
        case Fields():
            yield from (statement for _, statement in block.rows)
        case Table():
            yield from (cell for row in block.rows for cell in row)
        case Trace():
            yield from (moment.says for moment in block.moments)


def front(report: Report) -> list[Statement]:
    return list(of_sections(list(report.front)))


def back(report: Report) -> list[Statement]:
    return list(of_sections(list(report.back)))


def statements(report: Report) -> list[Statement]:
    return [*front(report), *back(report)]


def words(report: Report, side: str = "both") -> str:
    """All that a person reads of it, titles of sections, rows and columns too."""
    sections = {"front": report.front, "back": report.back, "both": [*report.front, *report.back]}[side]
    told = [section.title for section in sections]
    for section in sections:
        for block in section.blocks:
            told += [statement.text for statement in of_block(block)]
            match block:
                case Fields():
                    told += [label for label, _ in block.rows]
                case Table():
                    told += block.columns
                case Signature():
                    told.append(block.role)
                case Trace():
                    told += [line.name for line in block.lines]
    return "\n".join(told)


def section(report: Report, title: str) -> str:
    """What one section says."""
    found = [it for it in (*report.front, *report.back) if it.title == title]
    return "\n".join(statement.text for statement in of_sections(found))
