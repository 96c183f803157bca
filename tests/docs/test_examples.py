"""Every example in a docstring is run: none stands where nobody looks for it."""

import ast
import doctest
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[2]
ROOMS = ["calc", "ingest", "dashboard", "simulators", "docs", "commands"]
FILES = [ROOT / "dewline.py", *(file for room in ROOMS for file in sorted((ROOT / room).rglob("*.py")))]


def documented(tree: ast.Module) -> list[ast.Module | ast.ClassDef | ast.FunctionDef | ast.AsyncFunctionDef]:
    kinds = (ast.Module, ast.ClassDef, ast.FunctionDef, ast.AsyncFunctionDef)
    return [node for node in ast.walk(tree) if isinstance(node, kinds) and ast.get_docstring(node)]


def with_examples() -> list[Path]:
    parser = doctest.DocTestParser()
    return [
        file
        for file in FILES
        if any(
            parser.get_examples(ast.get_docstring(node) or "")
            for node in documented(ast.parse(file.read_text(encoding="utf-8")))
        )
    ]


def test_pytest_is_sent_to_every_file_that_has_one(pytestconfig: pytest.Config) -> None:
    assert pytestconfig.getoption("doctestmodules")
    looked_in = [ROOT / path for path in pytestconfig.getini("testpaths")]
    files = with_examples()
    assert {file.relative_to(ROOT).parts[0] for file in files} >= {"calc", "ingest", "dashboard", "simulators"}
    assert [file for file in files if not any(file.is_relative_to(path) for path in looked_in)] == []


def test_none_is_hidden_in_a_function_within_a_function() -> None:
    """The collector does not look there."""
    parser = doctest.DocTestParser()
    hidden = [
        f"{file.relative_to(ROOT)}:{inner.lineno}"
        for file in FILES
        for outer in ast.walk(ast.parse(file.read_text(encoding="utf-8")))
        if isinstance(outer, ast.FunctionDef | ast.AsyncFunctionDef)
        for inner in ast.walk(outer)
        if inner is not outer and isinstance(inner, ast.FunctionDef | ast.AsyncFunctionDef | ast.ClassDef)
        if parser.get_examples(ast.get_docstring(inner) or "")
    ]
    assert hidden == []
