"""Benchmarks stand outside the package and run late: what they import must still be there."""

import ast
import importlib
from pathlib import Path

import pytest

BENCHMARKS = sorted((Path(__file__).parents[1] / "benchmarks").glob("**/*.py"))


@pytest.mark.parametrize("path", BENCHMARKS, ids=lambda path: path.stem)
def test_what_a_benchmark_imports_from_the_package_is_there(path):
    """Catches: a function that moved, and a benchmark that finds out at its last picture."""
    for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
        if isinstance(node, ast.ImportFrom) and (node.module or "").split(".")[0] == "fencecast":
            module = importlib.import_module(node.module)
            for name in (alias.name for alias in node.names):
                if not hasattr(module, name):
                    importlib.import_module(f"{node.module}.{name}")
