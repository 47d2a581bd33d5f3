"""Fingerprints of the package's own sources: names of caches that a change of code must make anew."""

from __future__ import annotations

import hashlib
from collections.abc import Iterable
from pathlib import Path

PACKAGE = Path(__file__).resolve().parent
# Tables (.csv) are constants of the code that reads them.
SUFFIXES = (".py", ".csv")
# Machine code depends on these alone; what a study measures, on everything that is computed before results are described.
COMPILED = ("units.py", "jit.py", "lanes.py", "physics", "sampling", "kernels")
COMPUTED = (
    *COMPILED,
    "__init__.py",
    "errors.py",
    "cautions.py",
    "sources.py",
    "site",
    "camera.py",
    "meteorology",
    "estimate",
    "hours",
    "job.py",
    "lensranges.py",
    "decide",
)


def source_files(parts: Iterable[str], package: Path = PACKAGE) -> list[Path]:
    """Every source and table of these files and folders of the package, folders with all below them, in the order of paths."""
    files = []
    for part in parts:
        at = package / part
        files += [at] if at.is_file() else [path for path in at.rglob("*") if path.suffix in SUFFIXES]
    return sorted(files, key=lambda path: path.relative_to(package).as_posix())


def fingerprint(parts: Iterable[str], *more: object, package: Path = PACKAGE) -> str:
    """16 hexadecimal digits of the SHA-256 of these sources, their places in the package, and what else (`more`) matters."""
    digest = hashlib.sha256(repr(more).encode())
    for path in source_files(parts, package):
        digest.update(path.relative_to(package).as_posix().encode())
        digest.update(path.read_bytes())
    return digest.hexdigest()[:16]
