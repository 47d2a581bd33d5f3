"""The recorder's clock against the caller's: an offset that runs linearly with time, from the checks in a log.

Tests: tests/prove/log/test_logclocks.py.
"""

from __future__ import annotations

import datetime
from collections.abc import Sequence
from dataclasses import dataclass

MOST_DRIFT_S = 2.0


@dataclass(frozen=True)
class Clock:
    """Offset = recorder minus caller [s] at `start`, and its drift [s per hour]."""

    start: datetime.datetime
    offset_s: float
    drift_s_per_h: float
    moved_s: float

    def caller_s(self, moment: datetime.datetime) -> float:
        """The offset [s] at a moment of the caller's clock."""
        return self.offset_s + self.drift_s_per_h * (moment - self.start).total_seconds() / 3600.0


def fit_clock(checks: Sequence[tuple[datetime.datetime, float]]) -> Clock:
    """The line of least squares through checks (caller's time, recorder minus caller [s]); one check or all at once: no drift.

    moved_s: largest minus smallest offset [s]; above MOST_DRIFT_S the log is refused. ValueError without checks.
    """
    if not checks:
        raise ValueError("no clock check")
    checks = sorted(checks)
    start = checks[0][0]
    hours = [(moment - start).total_seconds() / 3600.0 for moment, _ in checks]
    offsets = [offset for _, offset in checks]
    moved = max(offsets) - min(offsets)
    middle, mean = sum(hours) / len(hours), sum(offsets) / len(offsets)
    spread = sum((hour - middle) ** 2 for hour in hours)
    drift = sum((h - middle) * (o - mean) for h, o in zip(hours, offsets, strict=True)) / spread if spread > 0.0 else 0.0
    return Clock(start, mean - drift * middle, drift, moved)
