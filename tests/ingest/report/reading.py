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
    Run,
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
        case Paragraph() | Items() | Run():
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
                case Run():
                    told.append(block.name)
                case Signature():
                    told.append(block.role)
                case Trace():
                    told += [line.name for line in block.lines]
    return "\n".join(told)


def section(report: Report, title: str) -> str:
    """What one section says."""
    found = [it for it in (*report.front, *report.back) if it.title == title]
    return "\n".join(statement.text for statement in of_sections(found))


def run(report: Report, title: str, name: str) -> str:
    """What follows a name in one section, a line each; empty where it has none of that name."""
    blocks = [it for each in (*report.front, *report.back) if each.title == title for it in each.blocks]
    found = [it for it in blocks if isinstance(it, Run) and it.name.startswith(name)]
    return "\n".join(statement.text for it in found for statement in it.says)


def fields(report: Report, title: str) -> list[tuple[str, str]]:
    """What one section calls by a name, with its name."""
    blocks = [it for each in (*report.front, *report.back) if each.title == title for it in each.blocks]
    return [(name, says.text) for it in blocks if isinstance(it, Fields) for name, says in it.rows]
