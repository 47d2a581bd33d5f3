"""How a job runs, as one object: its seed, how precise, how many crossings, on how many threads, and who hears of progress."""

from __future__ import annotations

import math
import os
from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

from fencecast.errors import UsageError
from fencecast.estimate.simulate import DEFAULT_MAX_CROSSINGS, REPLICATES
from fencecast.site import Site

DEFAULT_PRECISION = 0.02
_MOST_SEED = 2**63 - 1

# progress(stage, done, expected), in crossings.
Progress = Callable[[str, int, int], None]


@dataclass(frozen=True)
class RunOptions:
    """Numbers that were checked: made by `RunOptions.of`, and handed on whole from the public functions to the last loop."""

    seed: int
    precision: float
    max_crossings: int
    threads: int
    progress: Progress | None = None

    @classmethod
    def of(
        cls,
        site: Site,
        seed: int | None = None,
        precision: float = DEFAULT_PRECISION,
        max_crossings: int = DEFAULT_MAX_CROSSINGS,
        threads: int | None = None,
        progress: Progress | None = None,
    ) -> RunOptions:
        """The options of a job on this site: its own seed when none is given, all processors when no number of threads is.

        UsageError for a number out of range.
        """
        check_numbers(precision, max_crossings, threads, seed)
        return cls(site.seed if seed is None else int(seed), precision, max_crossings, threads or processors(), progress)

    def heard(self, stage: str) -> Callable[[int, int], None] | None:
        """progress(done, expected) of one stage; None when nobody listens."""
        tell = self.progress
        return None if tell is None else lambda done, expected: tell(stage, done, expected)

    def rounds(self, stage: str) -> dict[str, Any]:
        """What the loops that double crossings take (`simulate`, `lockstep`)."""
        return {
            "precision": self.precision,
            "max_crossings": self.max_crossings,
            "threads": self.threads,
            "progress": self.heard(stage),
        }


def processors() -> int:
    """How many processors this process may use: the threads of a run when nobody says."""
    return len(os.sched_getaffinity(0)) if hasattr(os, "sched_getaffinity") else os.cpu_count() or 1


def check_numbers(precision: float, max_crossings: int, threads: int | None, seed: int | None = None) -> None:
    """Refuse numbers that cannot be met."""
    if seed is not None and not 0 <= seed <= _MOST_SEED:
        raise UsageError(f"seed {seed} is not allowed: a whole number from 0 to {_MOST_SEED}; type for instance 7")
    if not (math.isfinite(precision) and 0.0005 <= precision <= 0.5):
        raise UsageError(f"precision {precision:g} is not allowed: a half width from 0.0005 to 0.5; type for instance 0.02")
    if not 2 * REPLICATES <= max_crossings <= 2**23:
        raise UsageError(
            f"max crossings {max_crossings} is not allowed: a whole number from {2 * REPLICATES} to {2**23}; "
            "type for instance 2048"
        )
    if threads is not None and not 1 <= threads <= 1024:
        raise UsageError(f"threads {threads} is not allowed: a whole number from 1 to 1024; type for instance 2")
