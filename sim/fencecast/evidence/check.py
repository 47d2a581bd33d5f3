"""What a check is: the product's own functions run against a source that we did not write, and by how much they may differ."""

from __future__ import annotations

import importlib
from collections.abc import Iterable
from dataclasses import dataclass
from importlib.metadata import PackageNotFoundError, version
from types import ModuleType

import numpy as np

from fencecast.errors import FencecastError

_SPOKEN = {"opencv-python-headless": "OpenCV"}
EXTRA = 'pip install "fencecast[verify]"'


class MissingLibraryError(FencecastError):
    """Outside libraries of the extra `verify` that are not installed: nothing was checked."""

    exit_code = 2

    def __init__(self, names: Iterable[str]):
        self.names = tuple(names)
        super().__init__(self.names)

    def __str__(self) -> str:
        return f"verify compares with {', '.join(self.names)}, which cannot be imported here; install the extra: {EXTRA}"


@dataclass(frozen=True)
class Check:
    """One line of the evidence.

    name: unique, the function that made it. quantity: what is compared, over which range. worst: the worst difference between
    ours and theirs in `unit`; it passes when it is at most `tolerance`. cause: why the tolerance is what it is. source: the
    outside side, with the version of a library. cases: how many comparisons. note: numbers worth seeing.
    """

    name: str
    quantity: str
    worst: float
    unit: str
    tolerance: float
    cause: str
    source: str
    cases: int
    note: str = ""

    @property
    def passed(self) -> bool:
        """Whether the worst difference is within the tolerance; not a number is not."""
        return bool(self.worst <= self.tolerance)


def outside(name: str) -> ModuleType:
    """An outside library by its import name; MissingLibraryError when it is not there."""
    try:
        return importlib.import_module(name)
    except ImportError:
        raise MissingLibraryError([name.split(".")[0]]) from None


def with_version(*distributions: str) -> str:
    """Names of distributions with their versions, as in `scipy 1.17.1`."""
    words = []
    for name in distributions:
        spoken = _SPOKEN.get(name, name)
        try:
            words.append(f"{spoken} {version(name)}")
        except PackageNotFoundError:
            words.append(spoken)
    return ", ".join(words)


def absolute(ours, theirs) -> float:
    """Largest absolute difference of two arrays."""
    return float(np.max(np.abs(np.asarray(ours, dtype=float) - np.asarray(theirs, dtype=float))))


def relative(ours, theirs) -> float:
    """Largest difference relative to theirs, of two arrays without zeros."""
    theirs = np.asarray(theirs, dtype=float)
    return float(np.max(np.abs(np.asarray(ours, dtype=float) / theirs - 1.0)))
