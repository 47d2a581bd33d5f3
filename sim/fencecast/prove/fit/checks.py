"""Checks after the fit: do the walks look like walks that this model makes? And the answer without each place in turn.

Posterior predictive checks (Gelman, Meng and Stern 1996, from memory): parameters are drawn from the posterior, the same walks
are walked again with them, and the sum of squared standardised deviations over groups is compared with that of the walks seen.
Tests: tests/prove/fit/test_fit_checks.py.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from fencecast.prove.fit.crossings import Crossings
from fencecast.prove.fit.grid import Array, shift_kernel
from fencecast.prove.fit.groups import Group
from fencecast.prove.fit.likelihood import seeing
from fencecast.prove.fit.posterior import Posterior

DRAWS = 400
SEED = 1_996
STEEP = (0.35, 0.65, 0.9, 0.985)  # ends of the groups by Pd of a camera
BY = ("place", "gait", "steepness", "camera", "walker")
COARSE = 2  # drawn points lie on every second one of the grid: fewer tables of patterns, and a hundredth in ln N50
CLEAN_NEEDS_WALKS = 100  # below, a check without finding says little


@dataclass(frozen=True)
class Band:
    """Cells (a walk as one camera saw it) whose Pd lies between two ends: alarms seen, and where 95 % of repeated logs have them.

    cycles: the N of one look for which a Pd like theirs is expected, the mean over the cells.
    """

    low: float
    high: float
    cells: int
    alarms: int
    band_low: float
    band_high: float
    expected: float
    cycles: float


@dataclass(frozen=True)
class Checks:
    """p: by place, gait, steepness, camera, walker; None where there is one group only. bands: by Pd of a camera."""

    p: dict[str, float | None]
    bands: tuple[Band, ...]


@dataclass(frozen=True, eq=False)
class _Cells:
    """Every walk of every group as each camera saw it, flat: group and camera of the cell, and whether it alarmed."""

    group: NDArray[np.int64]
    walk: NDArray[np.int64]
    camera: NDArray[np.int64]
    alarm: NDArray[np.bool_]


class Predictive:
    """Repeated logs: patterns of cameras of every group at points of the grid, each computed once and only when it is drawn."""

    def __init__(self, posterior: Posterior, groups: Sequence[Group], crossings: Sequence[Crossings], by_chance: Array | None):
        self.posterior, self.groups, self.crossings, self.by_chance = posterior, groups, crossings, by_chance
        cycles = np.exp(posterior.grid.ln_points)
        self.pd = np.array([[each.camera_pd(k, cycles) for k in range(len(groups))] for each in crossings])
        if by_chance is not None:
            self.pd = 1.0 - (1.0 - self.pd) * (1.0 - by_chance)
        middle = posterior.cycles_50().median
        self.seeing = [seeing(crossings[0], k, middle) for k in range(len(groups))]
        self._tables: dict[tuple[int, int, int, int], Array] = {}

    def table(self, contrast: int, group: int, point: int, r_point: int) -> Array:
        """Cumulative probabilities of the sets of cameras of a group at a point of the grid."""
        key = (contrast, group, point, r_point)
        if key not in self._tables:
            grid = self.posterior.grid
            found = self.crossings[contrast].pattern_table(
                group, self.seeing[group], float(np.exp(grid.ln_points[point])), float(grid.r_points[r_point])
            )
            self._tables[key] = np.cumsum(found) / np.sum(found)
        return self._tables[key]

    def walk_again(self, rng: np.random.Generator, contrast: int, group: int, point: int, r_point: int) -> NDArray[np.bool_]:
        """Alarms of the walks of a group, walked anew: (walks, cameras)."""
        walks, cameras = self.groups[group].seen.shape
        alarms = np.zeros((walks, cameras), dtype=bool)
        if self.seeing[group]:
            drawn = np.searchsorted(self.table(contrast, group, point, r_point), rng.random(walks), side="right")
            for bit, camera in enumerate(self.seeing[group]):
                alarms[:, camera] = (drawn >> bit) & 1
        if self.by_chance is not None:
            alarms |= rng.random((walks, cameras)) < self.by_chance
        return alarms


def check_fit(
    posterior: Posterior, groups: Sequence[Group], crossings: Sequence[Crossings], by_chance: Array | None, draws: int = DRAWS
) -> Checks:
    """p of five groupings and the bands of `calibration.png`; the same bits for the same log, whatever the order of its rows.

    By place the places are held alike (their spread 0), because a spread that is fitted explains any; in all others each place
    keeps the shift that its own walks give it.
    """
    predictive = Predictive(posterior, groups, crossings, by_chance)
    cells = _cells(groups)
    labels = _labels(predictive, cells)
    alike, _ = _deviations(predictive, posterior.at_spread(0.0), cells, {"place": labels["place"]}, draws)
    others = {name: label for name, label in labels.items() if name != "place"}
    shifted, again = _deviations(predictive, posterior, cells, others, draws)
    p = {name: (alike | shifted)[name] for name in BY}
    return Checks(p, _bands(predictive, cells, labels["steepness"], again))


def _cells(groups: Sequence[Group]) -> _Cells:
    parts = []
    for k, group in enumerate(groups):
        walk, camera = np.nonzero(group.seen >= 0)
        parts.append((np.full(len(walk), k), walk, camera, group.seen[walk, camera] == 1))
    return _Cells(*(np.concatenate(each) for each in zip(*parts)))


def _labels(predictive: Predictive, cells: _Cells) -> dict[str, NDArray[np.int64]]:
    """The number of the group that a cell belongs to, for each grouping."""
    groups = predictive.groups
    point = _median_point(predictive.posterior)
    # Pd as simulated, without alarms by chance: what is asked is where on the curve a cell lies.
    pd = predictive.pd[_middle_contrast(predictive.posterior), cells.group, point, cells.camera]
    names: dict[str, Callable[[Group], str]] = {
        "place": lambda group: group.place, "gait": lambda group: group.gait, "walker": lambda group: group.walker,
    }  # fmt: skip
    found = {name: _numbered([of(group) for group in groups])[cells.group] for name, of in names.items()}
    return found | {"steepness": np.searchsorted(STEEP, pd, side="right"), "camera": cells.camera}


def _numbered(names: Sequence[str]) -> NDArray[np.int64]:
    return np.unique(np.array(names, dtype=object).astype(str), return_inverse=True)[1].reshape(-1)


def _median_point(posterior: Posterior) -> int:
    return int(np.searchsorted(np.cumsum(posterior.of_ln_cycles_50), 0.5))


def _middle_contrast(posterior: Posterior) -> int:
    return len(posterior.grid.ln_contrast) // 2


def _deviations(
    predictive: Predictive, posterior: Posterior, cells: _Cells, labels: dict[str, NDArray[np.int64]], draws: int
) -> tuple[dict[str, float | None], NDArray[np.bool_]]:
    """p of each grouping: how often a repeated log deviates at least as much; and the repeated alarms (draws, cells)."""
    rng = np.random.default_rng(SEED)
    drawn = _draw(rng, posterior, draws)
    own = [_coarse(_own_points(rng, posterior, place, drawn)) for place in range(len(posterior.places))]
    drawn = (*drawn[:3], _coarse(drawn[3]))
    at_place = [posterior.places.index(group.place) for group in predictive.groups]
    again = np.empty((draws, len(cells.alarm)), dtype=bool)
    expected = np.empty((draws, len(cells.alarm)))
    starts = np.searchsorted(cells.group, np.arange(len(predictive.groups) + 1))
    for k in range(len(predictive.groups)):
        mine = slice(starts[k], starts[k + 1])
        walk, camera = cells.walk[mine], cells.camera[mine]
        for d in range(draws):
            contrast, _, _, r_point = (int(each[d]) for each in drawn)
            point = int(own[at_place[k]][d])
            expected[d, mine] = predictive.pd[contrast, k, point, camera]
            again[d, mine] = predictive.walk_again(rng, contrast, k, point, r_point)[walk, camera]
    spread = expected * (1.0 - expected)
    found: dict[str, float | None] = {}
    for name, label in labels.items():
        kinds = np.unique(label)
        if len(kinds) < 2:
            found[name] = None
            continue
        member = (label[:, None] == kinds).astype(float)
        variance = np.maximum(spread @ member, 1e-9)
        seen = (((cells.alarm - expected) @ member) ** 2 / variance).sum(axis=1)
        repeated = (((again - expected) @ member) ** 2 / variance).sum(axis=1)
        # Equal sums count half: with few walks they are frequent. The log itself is one of all: p is never 0.
        found[name] = float((np.sum((repeated > seen) + 0.5 * (repeated == seen)) + 0.5) / (draws + 1))
    return found, again


def _coarse(points: NDArray[np.int64]) -> NDArray[np.int64]:
    """The nearest points that are kept, by turns up and down where two are."""
    turn = np.arange(len(points)) % COARSE
    return (points + turn) // COARSE * COARSE


def _draw(rng: np.random.Generator, posterior: Posterior, draws: int) -> tuple[NDArray[np.int64], ...]:
    """Indices (contrast, spread, point, r point) drawn by their weights."""
    mass = np.cumsum(posterior.weight.ravel())
    flat = np.minimum(np.searchsorted(mass, rng.random(draws) * mass[-1], side="right"), len(mass) - 1)
    return tuple(np.asarray(each) for each in np.unravel_index(flat, posterior.weight.shape))


def _own_points(
    rng: np.random.Generator, posterior: Posterior, place: int, drawn: tuple[NDArray[np.int64], ...]
) -> NDArray[np.int64]:
    """A place's own ln N50 as a point of the grid, drawn given everything else: its shift's normal times its own likelihood."""
    contrast, spread, point, r_point = drawn
    points = np.arange(len(posterior.grid.ln_points))
    found = point.copy()
    for d, chance in enumerate(rng.random(len(point))):
        width = posterior.spreads[spread[d]]
        if width <= 0.0:
            continue
        kernel = shift_kernel(len(points), posterior.grid.step, width)[np.abs(points - point[d])]
        ln = posterior.log_likelihood[place, contrast[d], :, r_point[d]]
        mass = np.cumsum(kernel * np.exp(ln - ln[kernel > 0.0].max()))
        found[d] = min(int(np.searchsorted(mass, chance * mass[-1], side="right")), len(points) - 1)
    return found


def _bands(predictive: Predictive, cells: _Cells, steepness: NDArray[np.int64], again: NDArray[np.bool_]) -> tuple[Band, ...]:
    from fencecast.physics.discrimination import discrimination_ratio

    point = _median_point(predictive.posterior)
    cycles_50 = float(np.exp(predictive.posterior.grid.ln_points[point]))
    pd = predictive.pd[_middle_contrast(predictive.posterior), cells.group, point, cells.camera]
    ends = (0.0, *STEEP, 1.0)
    bands = []
    for k in range(len(ends) - 1):
        mine = (steepness == k) & (pd > 1e-6)
        if not mine.any():
            continue
        counts = again[:, mine].sum(axis=1)
        low, high = np.quantile(counts, (0.025, 0.975), method="inverted_cdf")
        ratio = np.mean([np.log(discrimination_ratio(each)) for each in np.clip(pd[mine], 1e-6, 1.0 - 1e-9)])
        bands.append(
            Band(
                ends[k],
                ends[k + 1],
                int(mine.sum()),
                int(cells.alarm[mine].sum()),
                float(low),
                float(high),
                float(pd[mine].sum()),
                cycles_50 * float(np.exp(ratio)),
            )  # fmt: skip
        )
    return tuple(bands)
