"""Caches are named by the sources that they depend on."""

from __future__ import annotations

import ast
import shutil

import pytest

from fencecast.sources import COMPILED, COMPUTED, PACKAGE, fingerprint, source_files


@pytest.mark.parametrize("parts", [COMPILED, COMPUTED], ids=["compiled", "computed"])
def test_a_comment_in_any_source_changes_the_fingerprint(parts, tmp_path):
    """Catches a folder that is not walked to its end, and a file that is left out: yesterday's numbers under today's name."""
    copy = tmp_path / "fencecast"
    shutil.copytree(PACKAGE, copy, ignore=shutil.ignore_patterns("__pycache__"))
    seen = {fingerprint(parts, package=copy)}
    files = source_files(parts, copy)
    for path in files:
        path.write_bytes(path.read_bytes() + b"\n# a comment\n")
        seen.add(fingerprint(parts, package=copy))
    assert len(seen) == len(files) + 1
    assert len(files) > 20


def imported_from(path):
    """Files of the package that a source imports, at the top or inside a function."""
    for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
        names = [a.name for a in node.names] if isinstance(node, ast.Import) else []
        if isinstance(node, ast.ImportFrom) and node.module:
            names = [node.module, *(f"{node.module}.{a.name}" for a in node.names)]
        for name in names:
            if name.split(".")[0] == "fencecast":
                at = PACKAGE.joinpath(*name.split(".")[1:])
                yield from (p for p in (at.with_suffix(".py"), at / "__init__.py") if p.is_file())


@pytest.mark.parametrize(
    ("start", "parts"),
    [("kernels/crossing.py", COMPILED), ("kernels/joint.py", COMPILED), ("decide/study/pieces.py", COMPUTED)],
)
def test_all_that_a_number_comes_through_is_hashed(start, parts):
    """Catches a module that compiled code or a study's piece imports, at any remove, and that its cache does not know of."""
    hashed, to_read, seen = set(source_files(parts)), [PACKAGE / start], set()
    while to_read:
        path = to_read.pop()
        if path not in seen:
            seen.add(path)
            to_read += imported_from(path)
    # The fingerprint's own module says what is hashed; it is not among what is compiled.
    assert {p.relative_to(PACKAGE).as_posix() for p in seen - hashed} <= {"sources.py", "__init__.py"}
    assert len(seen) > 10
