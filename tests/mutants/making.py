"""Which mutants a module has: one small change each, by the operators of cosmic-ray."""

import ast
from collections.abc import Iterator

import msgspec
from cosmic_ray.ast import ast_nodes, get_ast
from cosmic_ray.mutating import mutate_code
from cosmic_ray.operators.operator import Operator
from cosmic_ray.plugins import get_operator

Position = tuple[int, int]

OPERATORS = [
    f"core/{name}"
    for name in (
        "NumberReplacer",
        "AddNot",
        "ReplaceAndWithOr",
        "ReplaceOrWithAnd",
        "ReplaceTrueWithFalse",
        "ReplaceFalseWithTrue",
        "ReplaceBreakWithContinue",
        "ReplaceContinueWithBreak",
        "ZeroIterationForLoop",
        "RemoveDecorator",
        "ReplaceUnaryOperator_USub_UAdd",
        "ReplaceUnaryOperator_Delete_Not",
        *(f"ReplaceBinaryOperator_{pair}" for pair in ("Add_Sub", "Sub_Add", "Mul_Div", "Div_Mul", "Pow_Mul")),
        *(f"ReplaceBinaryOperator_{pair}" for pair in ("FloorDiv_Div", "Mod_Mul", "BitOr_BitAnd", "BitAnd_BitOr")),
        *(f"ReplaceComparisonOperator_{pair}" for pair in ("Lt_LtE", "Lt_GtE", "LtE_Lt", "LtE_Gt")),
        *(f"ReplaceComparisonOperator_{pair}" for pair in ("Gt_GtE", "Gt_LtE", "GtE_Gt", "GtE_Lt")),
        *(f"ReplaceComparisonOperator_{pair}" for pair in ("Eq_NotEq", "NotEq_Eq", "Is_IsNot", "IsNot_Is")),
    )
]
"""Of a comparison, what differs at the bound and its opposite. The library's other pairs mostly fail on any value."""


class Mutant(msgspec.Struct, frozen=True):
    """One change: the line's number, what it was and what it becomes (stripped), and the whole source with it."""

    line: int
    was: str
    becomes: str
    source: str


def mutants_of(source: str) -> Iterator[Mutant]:
    """Give every mutant of a module but those that no test could tell: in type annotations, of frozen and slots."""
    tree = get_ast(source)
    without_effect = [_span(node) for node in _without_effect(source)]
    for name in OPERATORS:
        operator = get_operator(name)()
        for occurrence, start in enumerate(_positions(operator, tree)):
            if not any(first <= start < last for first, last in without_effect) and not _is_bare_star(source, start):
                yield _mutant(source, operator, occurrence, start)


def _positions(operator: Operator, tree: object) -> Iterator[Position]:
    for node in ast_nodes(tree):
        for start, _ in operator.mutation_positions(node):
            yield start


def _mutant(source: str, operator: Operator, occurrence: int, start: Position) -> Mutant:
    mutated = mutate_code(source, operator, occurrence)
    before, after = source.splitlines(), mutated.splitlines()
    if len(before) != len(after):  # a decorator has gone
        return Mutant(start[0], before[start[0] - 1].strip(), "(nothing)", mutated)
    line = next(number for number, (old, new) in enumerate(zip(before, after, strict=True)) if old != new)
    return Mutant(line + 1, before[line].strip(), after[line].strip(), mutated)


def _is_bare_star(source: str, start: Position) -> bool:
    """Whether it is the star of a signature, which cosmic-ray takes for a multiplication."""
    line, column = start
    return source.splitlines()[line - 1][column : column + 2] == "*,"


def _without_effect(source: str) -> Iterator[ast.expr]:
    """Give the expressions that change nothing that runs: frozen and slots refuse what the type checker refuses too."""
    for node in ast.walk(ast.parse(source)):
        for annotation in (getattr(node, "annotation", None), getattr(node, "returns", None)):
            if isinstance(annotation, ast.expr):
                yield annotation
        if isinstance(node, ast.keyword) and node.arg in ("frozen", "slots"):
            yield node.value


def _span(node: ast.expr) -> tuple[Position, Position]:
    return (node.lineno, node.col_offset), (node.end_lineno or 0, node.end_col_offset or 0)
