"""Is the prediction as printed right? A Monte Carlo test on which cameras alarmed at each walk, and how many in all.

S = - sum ln P(pattern of walk i | plan), a proper score (Gneiting & Raftery 2007, from memory), is compared with logs drawn from
the plan's own patterns: p = (1 + number of drawn S >= S) / (drawn + 1), of exact size (Davison & Hinkley 1997, from memory) where
what was seen does not say how many walks there are. Walks of a ladder's later rungs exist only because of misses: with them p is
approximate.

The log score alone is blind to cameras that do better than predicted: likely patterns become likelier, and S falls. So the number
of alarms of all cameras together, two-sided, is looked at beside it, and the smaller of both p-values is compared with the
smaller of every drawn log: one verdict, sized alike. On a yard of two facing cameras, 36 walks, at the 5 % level, it sees N50
1.5 in place of 2.0 in 74 % of tests (log score alone: 0 %), 2.6 in 80 % (68 %), a camera that fails in three of ten walks in 98 %
(98 %).

Beside it stands the exact probability of the total, which people can follow. Tests by places or by groups are not used for a
verdict: with few walks their size is off.

A second question has its own answer: did the test fall within what the prediction itself allowed, N50 and the correlation being
as uncertain as the plan says? A log can fail the first and pass the second: then the model wants calibration, and nobody alarm.

Tests: tests/prove/score/test_scoreprediction.py.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field

import numpy as np

from fencecast.prove.score.tables import LEAST_PROBABILITY, Predicted, shares_of
from fencecast.prove.score.total import two_sided_p
from fencecast.prove.walks.planfile import WalkPlan

REPLICATES = 4_999
# Edges of groups of predicted Pd of one camera: steep, middle, flat parts of the curve; whatever the log says.
EDGES = (0.0, 0.35, 0.65, 0.9, 0.985, 1.0)
BAND = 0.95
NAMED_PD = 0.001  # a camera with less alarms by chance alone
_TIE = 1e-9  # sums of the same logarithms in another order

# Patterns of a kind (names as in the plan) at some N50 and correlation, by the kind's name.
Patterns = Mapping[str, Mapping[str, float]]


@dataclass(frozen=True)
class Group:
    """Camera and walk pairs whose predicted Pd lies between two edges; low, high are the smallest and largest of them.

    expected: mean predicted share. band_low, band_high: between these counts fall 95 % of logs drawn by whole walks.
    """

    low: float
    high: float
    n: int
    alarms: int
    expected: float
    band_low: int
    band_high: int

    @property
    def outside(self) -> int:
        """-1 fewer alarms than the band holds, 1 more, 0 within."""
        return -1 if self.alarms < self.band_low else 1 if self.alarms > self.band_high else 0


@dataclass(frozen=True)
class PredictionScore:
    """How a log agrees with the prediction that its plan printed.

    p: the verdict's. p_total: of walks with an alarm, two-sided, exact. log_score: S. camera_alarms: over all walks and cameras,
    p two-sided. p_within_prior: of the verdict's two numbers against logs of the prior; None when it was not asked. sees_change:
    the smallest change of N50 [fraction] that so many walks would see four times in five; None when the plan's walks tell nothing
    of N50. no_chance: by `W without E` the walks in which one camera alarmed and not another that the plan has always alarm with
    it, as of two on one post, where the better sees all that the weaker does.
    """

    walks: int
    expected_alarms: float
    alarms: int
    p_total: float
    log_score: float
    p_log_score: float
    camera_alarms: int
    expected_camera_alarms: float
    p_camera_alarms: float
    p: float
    p_within_prior: float | None
    replicates: int
    groups: tuple[Group, ...]
    sees_change: float | None
    no_chance: Mapping[str, int] = field(default_factory=dict)


def score_prediction(
    plan: WalkPlan, walks: Sequence[Predicted], prior: Sequence[Patterns] | None = None, replicates: int = REPLICATES
) -> PredictionScore | None:
    """The score of a log; None without a walk that the prediction speaks of.

    prior: patterns of the plan's kinds at draws of N50 and correlation from the plan's prior, equally likely each.
    """
    if not walks:
        return None
    rng = np.random.default_rng([plan.seed, 0x57A1])
    observed = np.array([[walk.seen for walk in walks]])
    drawn = draw_logs(walks, replicates, rng)
    found = _compare(walks, observed, drawn)
    pd = [walk.pd for walk in walks]
    alarms = sum(walk.alarm for walk in walks)
    within = None if not prior else _compare(walks, observed, _draw_prior(plan, walks, prior, replicates, rng)).p
    return PredictionScore(
        len(walks), float(sum(pd)), alarms, two_sided_p(pd, alarms), found.score, found.p_score, found.alarms,
        float(sum(walk.camera_pd().sum() for walk in walks)), found.p_alarms, found.p, within, replicates, _groups(walks, drawn),
        sees_change(plan, walks), without_chance(walks),
    )  # fmt: skip


@dataclass(frozen=True)
class _Compared:
    score: float
    p_score: float
    alarms: int
    p_alarms: float
    p: float


def _compare(walks: Sequence[Predicted], observed: np.ndarray, drawn: np.ndarray) -> _Compared:
    """An observed log (1, walks) among drawn ones: both p-values, and that of the smaller of them.

    The observed log and the drawn ones are ranked together, each by the same rule, so that the last p is exact.
    """
    both = np.concatenate([observed, drawn])
    score = log_score(walks, both)
    alarms = np.zeros(len(both), dtype=np.int64)
    for column, walk in enumerate(walks):
        alarms += np.array([index.bit_count() for index in range(len(walk.share))])[both[:, column]]
    p_score = _share_at_least(score, _TIE * max(1.0, abs(score[0])))
    more, fewer = _share_at_least(alarms.astype(float), 0.5), _share_at_least(-alarms.astype(float), 0.5)
    p_alarms = np.minimum(2.0 * np.minimum(more, fewer), 1.0)
    smaller = np.minimum(p_score, p_alarms)
    p = float(np.count_nonzero(smaller <= smaller[0] + 1e-12) / len(both))
    return _Compared(float(score[0]), float(p_score[0]), int(alarms[0]), float(p_alarms[0]), p)


def _share_at_least(values: np.ndarray, tie: float) -> np.ndarray:
    """For each value the share of all that are as large, or nearly."""
    ordered = np.sort(values)
    return (len(values) - np.searchsorted(ordered, values - tie, side="left")) / len(values)


def log_score(walks: Sequence[Predicted], seen: np.ndarray) -> np.ndarray:
    """S of logs: seen (logs, walks), indices of patterns. (logs,)"""
    total = np.zeros(len(seen))
    for column, walk in enumerate(walks):
        total -= np.log(walk.share)[seen[:, column]]
    return total


def draw_logs(walks: Sequence[Predicted], logs: int, rng: np.random.Generator, shares: Callable | None = None) -> np.ndarray:
    """Logs drawn walk by walk, (logs, walks) of pattern indices; shares(walk): probabilities other than the plan's."""
    drawn = np.empty((logs, len(walks)), dtype=np.int16)
    for column, walk in enumerate(walks):
        share = walk.share if shares is None else shares(walk)
        edges = np.cumsum(share)[:-1] / share.sum()
        drawn[:, column] = np.searchsorted(edges, rng.random(logs), side="right")
    return drawn


def sees_change(plan: WalkPlan, walks: Sequence[Predicted]) -> float | None:
    """The change of N50 [fraction] that these walks see with a chance of four in five at the 5 % level, by their information.

    1.96 + 0.84 standard errors of ln N50, the correlation known: what the best test of N50 alone could do.
    """
    kinds = {kind.kind: kind for kind in plan.kinds}
    information = sum(kinds[walk.walk.kind or ""].information_ln_n50 for walk in walks)
    return float(np.expm1(2.80 / np.sqrt(information))) if information > 0.0 else None


def without_chance(walks: Sequence[Predicted]) -> dict[str, int]:
    """How often one camera alarmed without another though the plan gives that no chance at all, by `W without E`."""
    counts: dict[str, int] = {}
    for walk in walks:
        index, pd = np.arange(len(walk.share)), walk.camera_pd()
        for a, weaker in enumerate(walk.marks):
            for b, better in enumerate(walk.marks):
                alone = (index >> a & 1 == 1) & (index >> b & 1 == 0)
                # The least that any pattern has is all that these have.
                if alone[walk.seen] and pd[a] >= NAMED_PD and walk.share[alone].max() <= 1.01 * LEAST_PROBABILITY:
                    name = f"{weaker} without {better}"
                    counts[name] = counts.get(name, 0) + 1
    return counts


def _draw_prior(
    plan: WalkPlan, walks: Sequence[Predicted], prior: Sequence[Patterns], logs: int, rng: np.random.Generator
) -> np.ndarray:
    """Logs drawn with one N50 and correlation each, taken in turn from the draws of the prior."""
    kinds = {kind.kind: kind for kind in plan.kinds}
    drawn = np.empty((logs, len(walks)), dtype=np.int16)
    for at, patterns in enumerate(prior):
        mine = np.arange(at, logs, len(prior))
        known: dict[tuple[str, tuple[str, ...]], np.ndarray] = {}

        def shares(walk: Predicted, patterns=patterns, known=known) -> np.ndarray:
            key = (walk.walk.kind or "", walk.marks)
            if key not in known:
                known[key] = shares_of(kinds[key[0]], walk.marks, patterns[key[0]])
            return known[key]

        drawn[mine] = draw_logs(walks, len(mine), rng, shares)
    return drawn


def _groups(walks: Sequence[Predicted], drawn: np.ndarray) -> tuple[Group, ...]:
    pairs: list[list[tuple[int, int, float]]] = [[] for _ in EDGES[1:]]
    for column, walk in enumerate(walks):
        for bit, pd in enumerate(walk.camera_pd()):
            pairs[min(int(np.searchsorted(EDGES, pd, side="right")) - 1, len(pairs) - 1)].append((column, bit, float(pd)))
    groups = []
    for members in pairs:
        if not members:
            continue
        counts = np.zeros(len(drawn), dtype=np.int64)
        for column, bit, _ in members:
            counts += (drawn[:, column] >> bit) & 1
        # Counts below `low` and above `high` have at most 2.5 % of the logs each.
        low, high = np.quantile(counts, [(1.0 - BAND) / 2.0, (1.0 + BAND) / 2.0], method="inverted_cdf")
        pd = [each[2] for each in members]
        alarms = sum(walks[column].seen >> bit & 1 for column, bit, _ in members)
        groups.append(Group(min(pd), max(pd), len(members), alarms, float(np.mean(pd)), int(low), int(high)))
    return tuple(groups)
