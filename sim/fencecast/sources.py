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
    "provenance.py",
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


def digest(parts: Iterable[str], *more: object, package: Path = PACKAGE) -> str:
    """SHA-256 of these sources, their places in the package, and what else (`more`) matters: 64 hexadecimal digits."""
    found = hashlib.sha256(repr(more).encode())
    for path in source_files(parts, package):
        found.update(path.relative_to(package).as_posix().encode())
        found.update(path.read_bytes())
    return found.hexdigest()


def fingerprint(parts: Iterable[str], *more: object, package: Path = PACKAGE) -> str:
    """The first 16 digits of `digest`, for names."""
    return digest(parts, *more, package=package)[:16]
