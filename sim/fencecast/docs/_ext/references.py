"""What the Model pages may name: tests, functions of the package, marks of sources. No Sphinx here, so that tests ask it too."""

from __future__ import annotations

import ast
from functools import cache
from pathlib import Path

PACKAGE = Path(__file__).parents[2]
ROOT = PACKAGE.parents[1]
# How sure a formula or a number is of its source; every source on the pages begins with one of them.
MARKS = {
    "published": "a published source, named",
    "published, not checked": "a published value, not checked against the original",
    "definition": "a definition, or follows from definitions by arithmetic",
    "own fit": "this project's fit to a named calculation",
    "own rule": "this project's construction, with the test that holds it",
    "judgement": "common practice or judgement, no source",
}


@cache
def functions_of(path: Path) -> frozenset[str]:
    """Names of the functions and classes that stand at the top of a Python file."""
    tree = ast.parse(path.read_text(encoding="utf-8"))
    return frozenset(n.name for n in tree.body if isinstance(n, (ast.FunctionDef, ast.ClassDef)))


def missing_test(reference: str) -> str | None:
    """What is wrong with `tests/folder/test_file.py::test_name`, None when there is such a test."""
    file, _, name = reference.partition("::")
    path = ROOT / file
    if not path.is_file():
        return f"no file {file}"
    return None if name in functions_of(path) else f"no {name} in {file}"


def missing_code(name: str) -> str | None:
    """What is wrong with `room.module.function` of the package, None when it is there."""
    *modules, function = name.split(".")
    path = PACKAGE.joinpath(*modules).with_suffix(".py")
    if not path.is_file():
        return f"no module {'.'.join(modules)}"
    return None if function in functions_of(path) else f"no {function} in {path.name}"


def mark_of(source: str) -> str | None:
    """The mark that a source begins with."""
    found = [mark for mark in MARKS if source == mark or source.startswith((mark + ":", mark + ";"))]
    return max(found, key=len, default=None)


def words_of(text: str) -> list[str]:
    """The names of a list, by commas or blanks."""
    return text.replace(",", " ").split()
