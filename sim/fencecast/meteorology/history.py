"""Hours in a row: the value some hours ago, and gaps in a record.

Tests: tests/meteorology/test_hours_rules.py.
"""

from __future__ import annotations

import numpy as np

LONGEST_GAP_H = 3  # gaps up to this long are filled by straight lines


def hours_before(values: np.ndarray, back: int) -> np.ndarray:
    """The value so many hours ago, (hours,); before the record begins, its first value."""
    if back == 0:
        return values
    return np.concatenate([np.repeat(values[:1], min(back, len(values))), values[:-back]])


def long_gaps(values: np.ndarray, longest: int = LONGEST_GAP_H) -> np.ndarray:
    """Whether each hour lies in a run of NaN longer than `longest` [bool] (hours,)."""
    missing = np.concatenate([[False], np.isnan(values), [False]])
    edges = np.flatnonzero(missing[1:] != missing[:-1])
    far = np.zeros(len(values), dtype=bool)
    for start, stop in zip(edges[::2], edges[1::2]):
        far[start:stop] = stop - start > longest
    return far


def filled(values: np.ndarray, nothing: float) -> np.ndarray:
    """Every gap filled by a straight line between its neighbours, ends held; a record with no value at all gets `nothing`."""
    there = np.flatnonzero(~np.isnan(values))
    if len(there) == 0:
        return np.full(len(values), nothing)
    return np.interp(np.arange(len(values)), there, values[there])
