"""From where to where a curve of Pd against distance reaches the requirement, between the simulated distances.

Ends are interpolated on straight lines between neighbouring distances: the place of an end on the curve itself, its interval on
the two ends of the curve's interval. A dip that is not shown to be below the requirement is noise, and so is an island that is
not shown to be above it when another stretch is: neither makes a stretch of its own.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np


@dataclass(frozen=True)
class End:
    """Where a stretch begins or ends [m]: on the curve, and the interval of that place. The inner end of the interval is NaN when
    nothing of the stretch has its complete interval at or above the requirement."""

    place_m: float
    low_m: float
    high_m: float


@dataclass(frozen=True)
class Span:
    """A stretch on which a curve reaches the requirement.

    near None: from the nearest simulated distance on; far None: beyond the farthest. shown: at some distance of it the complete
    interval is at or above the requirement; else it is undecided.
    """

    near: End | None
    far: End | None
    shown: bool

    def metres(self, distances: np.ndarray) -> tuple[float, float]:
        """From and to [m], cut at the simulated distances (distances,)."""
        start = float(distances[0]) if self.near is None else self.near.place_m
        return start, float(distances[-1]) if self.far is None else self.far.place_m


def spans_of(distances: np.ndarray, pd: np.ndarray, low: np.ndarray, high: np.ndarray, need: float) -> tuple[Span, ...]:
    """The stretches of one curve, nearest first.

    distances [m], pd and the ends of its interval (distances,), NaN where nothing was simulated.
    """
    runs = _joined(_runs(pd >= need), pd, high, need)
    if any((low[a : b + 1] >= need).any() for a, b in runs):
        runs = [(a, b) for a, b in runs if (low[a : b + 1] >= need).any()]
    return tuple(
        Span(
            _end(distances, pd, low, high, need, a, b, -1),
            _end(distances, pd, low, high, need, b, a, 1),
            bool((low[a : b + 1] >= need).any()),
        )
        for a, b in runs
    )


def shown_stretches(distances: np.ndarray, low: np.ndarray, need: float) -> list[tuple[float, float]]:
    """From and to [m] of every stretch on which the complete interval is at or above the requirement, interpolated."""
    return [(_outer(distances, low, need, a, -1), _outer(distances, low, need, b, 1)) for a, b in _runs(low >= need)]


def _runs(held: np.ndarray) -> list[tuple[int, int]]:
    """First and last index of every run of True."""
    edges = np.flatnonzero(np.diff(np.concatenate([[False], held, [False]]).astype(int)))
    return [(int(a), int(b) - 1) for a, b in zip(edges[::2], edges[1::2])]


def _joined(runs: list[tuple[int, int]], pd: np.ndarray, high: np.ndarray, need: float) -> list[tuple[int, int]]:
    """The runs, those joined between which every distance was simulated and none is shown to be below the requirement."""
    joined: list[tuple[int, int]] = []
    for a, b in runs:
        gap = slice(joined[-1][1] + 1, a) if joined else slice(0, 0)
        if joined and not np.isnan(pd[gap]).any() and (high[gap] >= need).all():
            joined[-1] = (joined[-1][0], b)
        else:
            joined.append((a, b))
    return joined


def _end(distances, pd, low, high, need: float, edge: int, other: int, step: int) -> End | None:
    """The end of a run at index `edge`, outwards by `step`; None when the run reaches the last distance on that side."""
    beyond = edge + step
    if not 0 <= beyond < len(distances):
        return None
    place = _outer(distances, pd, need, edge, step)
    outer = _outer(distances, high, need, edge, step)
    inside = range(edge, other - step, -step)
    first = next((k for k in inside if low[k] >= need), None)
    inner = float("nan") if first is None else _outer(distances, low, need, first, step)
    return End(place, *((outer, inner) if step < 0 else (inner, outer)))


def _outer(distances: np.ndarray, values: np.ndarray, need: float, start: int, step: int) -> float:
    """Where values, at or above `need` at index `start`, fall below it in the direction of `step` [m]; where they are not known
    any more or the distances end, the last one."""
    k = start
    while 0 <= k + step < len(distances) and values[k + step] >= need:
        k += step
    after = k + step
    if not 0 <= after < len(distances) or np.isnan(values[after]):
        return float(distances[k])
    share = (values[k] - need) / (values[k] - values[after])
    return float(distances[k] + share * (distances[after] - distances[k]))
