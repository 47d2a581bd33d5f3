"""Every formula names the test that checks it, and that test exists."""

from __future__ import annotations

import ast
import fnmatch
import re
from pathlib import Path

import pytest

import fencecast

TESTS = Path(__file__).parents[1]
PHYSICS = Path(fencecast.__file__).parent / "physics"
FORMULAS = [
    (path.stem, node)
    for path in sorted(PHYSICS.glob("*.py"))
    for node in ast.parse(path.read_text(encoding="utf-8")).body
    if isinstance(node, ast.FunctionDef) and not node.name.startswith("_")
]
KNOWN = {
    path.name: re.findall(r"^def (test_\w+)", path.read_text(encoding="utf-8"), flags=re.M) for path in TESTS.rglob("test_*.py")
}


@pytest.mark.parametrize(("module", "formula"), FORMULAS, ids=[f"{module}.{node.name}" for module, node in FORMULAS])
def test_a_formula_names_a_test_that_exists(module, formula):
    """Catches a formula without a check, and a name that went stale when tests were renamed."""
    named = re.findall(r"(test_\w+\.py)::(test_[\w*]+)", ast.get_docstring(formula) or "")
    assert named, "no `Check: test_file.py::test_name` in the docstring"
    for file, pattern in named:
        assert fnmatch.filter(KNOWN.get(file, []), pattern), f"there is no {file}::{pattern}"


def test_there_are_formulas():
    """Catches a search that finds nothing."""
    assert len(FORMULAS) > 60
