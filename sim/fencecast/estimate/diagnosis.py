"""Why each weak segment is weak: asked in the mildest weather class in which it is weak, and cut where the cause changes.

In the worst class nearly everything is washed out, whatever is wrong with the layout; in the mildest one the fault is left.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from fencecast.estimate.places import class_summaries, segment_lengths
from fencecast.estimate.results import AnyResults, Results

# A stretch this short beside a longer, worse one is the edge of it, not a fault of its own (judgement: a camera's view ends over
# a few metres, in which another cause may lead).
FRINGE_M = 3.0
# Of the leading cause's share, from which the neighbours' cause may stand for it: the lead between such two turns with the seed.
NEAR_TIE = 0.7
ALIKE = 0.03  # of mean Pd, within which two classes are about as mild: a reader expects the usual night to be named
WIDESPREAD_SHARE = 0.5  # of the fence's length, above which a class names no places beside classes that do


def counted_classes(results: AnyResults) -> list[int]:
    """Indexes of the classes with hours > 0 (all of them when none has any)."""
    hours = results["weather_hours"].values
    counted = [i for i in range(len(hours)) if hours[i] > 0]
    return counted or list(range(len(hours)))


def widespread_classes(results: AnyResults) -> list[int]:
    """Indexes of the counted classes that are weak over more than half of the fence that has data."""
    length = float(np.sum(segment_lengths(results)[~np.all(np.isnan(results["pd"].values), axis=0)]))
    counted = set(counted_classes(results))
    return [c.index for c in class_summaries(results) if c.index in counted and c.weak_m > WIDESPREAD_SHARE * length]


def mildest_first(results: AnyResults) -> list[int]:
    """Indexes of the counted classes, the highest mean Pd first; of classes about as mild the one of most hours."""
    summaries = {c.index: c for c in class_summaries(results)}
    mean = {row: -1.0 if np.isnan(c.mean_pd) else c.mean_pd for row, c in summaries.items()}
    left, order = sorted(counted_classes(results), key=lambda row: -mean[row]), []
    while left:
        alike = [row for row in left if mean[row] > mean[left[0]] - ALIKE]
        order.append(max(alike, key=lambda row: summaries[row].hours))
        left.remove(order[-1])
    return order


@dataclass(frozen=True, eq=False)
class Diagnosis:
    """Per segment, (segments,): whether it is named (`weak`), the mildest class in which it is weak (`row`, -1 for none) and the
    number of its leading cause there; mild: the counted classes, mildest first; apart: those left out of the
    naming, none where such a class names the places itself."""

    weak: np.ndarray
    row: np.ndarray
    cause: np.ndarray
    mild: tuple[int, ...]
    apart: frozenset[int]


def diagnose(results: AnyResults) -> Diagnosis:
    """The mildest weak class of every segment and its cause there.

    A class that is weak over more than half of the fence names no places, because it would swallow those of all others; where
    no other class is weak anywhere, the mildest such class names them.
    """
    results = Results.of(results)
    mild = mildest_first(results)
    weak = results.array("verdict", "weather", "segment") == "weak"
    apart = set(widespread_classes(results))
    naming = [row for row in mild if row not in apart]
    if not weak[naming].any():
        naming = [row for row in mild if weak[row].any()][:1]
        apart = set()
    named = weak[naming].any(axis=0)
    row = np.full(weak.shape[1], -1)
    for each in reversed(mild):
        row[weak[each]] = each
    shares = results.array("miss_share", "weather", "segment", "cause")[np.maximum(row, 0), np.arange(len(row))]
    cause = np.where(row >= 0, np.argmax(shares, axis=1), -1)
    return Diagnosis(named, row, cause, tuple(mild), frozenset(apart))


def cut_by_cause(results: Results, found: Diagnosis, part: list[int]) -> list[tuple[int, list[int]]]:
    """Touching weak segments as stretches of one cause, in walking order: (number of the cause, segments).

    A stretch up to FRINGE_M joins a longer, worse neighbour; a near tie joins the longer neighbour that it is nearly one with;
    neither joins one that is weak in worse classes only.
    """
    rank = {row: k for k, row in enumerate(found.mild)}

    runs: list[tuple[int, list[int]]] = []
    for segment in part:
        if runs and runs[-1][0] == found.cause[segment]:
            runs[-1][1].append(segment)
        else:
            runs.append((int(found.cause[segment]), [segment]))
    lengths = segment_lengths(results)
    pd = results.array("pd", "weather", "segment")
    shares = results.array("miss_share", "cause", "weather", "segment")

    def metres(run: list[int]) -> float:
        return float(np.sum(lengths[run]))

    def lowest(run: list[int]) -> float:
        return float(np.min(pd[found.row[run], run]))

    def mildest(run: list[int]) -> int:
        return min(rank[int(row)] for row in found.row[run])

    def nearly(cause: int, run: list[int], lead: int) -> bool:
        """Whether a cause has nearly the share of the leading one over a stretch."""
        of = [float(np.sum(shares[c, found.row[run], run] * lengths[run])) for c in (cause, lead)]
        return of[0] >= NEAR_TIE * of[1]

    while len(runs) > 1:
        for k in sorted(range(len(runs)), key=lambda i: metres(runs[i][1])):
            lead, run = runs[k]
            beside = [j for j in (k - 1, k + 1) if 0 <= j < len(runs) and metres(runs[j][1]) > metres(run) - 1e-9]
            fringe = metres(run) <= FRINGE_M + 1e-9
            takers = [
                j
                for j in beside
                if mildest(runs[j][1]) <= mildest(run)
                and (
                    nearly(runs[j][0], run, lead)
                    or (fringe and lowest(runs[j][1]) <= lowest(run) and metres(runs[j][1]) > metres(run))
                )
            ]
            if takers:
                taker = max(takers, key=lambda j: metres(runs[j][1]))
                runs = _joined(runs, k, runs[taker][0])
                break
        else:
            break
    return runs


def _joined(runs: list[tuple[int, list[int]]], k: int, cause: int) -> list[tuple[int, list[int]]]:
    """The runs with run k given another cause, and touching runs of one cause joined."""
    joined: list[tuple[int, list[int]]] = []
    for i, (own, run) in enumerate(runs):
        now = cause if i == k else own
        if joined and joined[-1][0] == now:
            joined[-1] = (now, joined[-1][1] + run)
        else:
            joined.append((now, list(run)))
    return joined
