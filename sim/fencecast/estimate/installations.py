"""Yards as built: what an installation fixes once, drawn once, and every installation run on the same crossings.

`pd` is the mean over installations, one drawn for every crossing. Here N of them are fixed one after the other: errors of
mounting, noise of units, and what is not known of the decision. How much Pd differs between them is what a buyer meets.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
import xarray as xr
from scipy.special import ndtri

from fencecast.errors import UsageError
from fencecast.estimate import simulate
from fencecast.estimate.intervals import half_width, interval, standard_error
from fencecast.estimate.simulate import REPLICATES, Forecast, Tally, advance, in_rounds, new_tally
from fencecast.estimate.weakest import counted_classes
from fencecast.kernels.crossing import SUM_PD
from fencecast.kernels.decided import clutter_of, fixed_decision
from fencecast.kernels.pack_weather import clutter_scaled
from fencecast.kernels.types import Cells, Plan
from fencecast.physics.discrimination import normal_quantile
from fencecast.sampling.installations import MOST_INSTALLATIONS, camera_units, decision_units
from fencecast.sampling.variables import CAMERA_VARIABLES

DEFAULT_INSTALLATIONS = 32
# Points of each scrambling in the first round: four, because there are many installations, and cells that all of them see alike
# need no more.
FIRST_POINTS = 4
_LOW, _HIGH = 0.1, 0.9
# A Pd_i is known well enough when its standard error is below this share of the standard deviation over installations, or of the
# asked precision; however wide the spread, below the second share of it: the 10 and 90 % points are each about one Pd_i.
_OF_SPREAD, _OF_PRECISION, _MOST_OF_PRECISION = 1.0 / 6.0, 0.25, 0.5


@dataclass(frozen=True)
class InstallationPd:
    """pd, se and crossings (installations, cells), pd and se NaN where nothing watches; looks rendered in all.

    mean_se (cells,): standard error of the mean of pd over these installations, which share their scramblings; mean_crossings
    (cells,): what it rests on.
    """

    pd: np.ndarray
    se: np.ndarray
    crossings: np.ndarray
    mean_se: np.ndarray
    mean_crossings: np.ndarray
    looks: int


def check_installations(count: int | None) -> None:
    """Refuse a number of installations that says nothing, or too much."""
    if count is not None and not 2 <= count <= MOST_INSTALLATIONS:
        raise UsageError(
            f"installations {count} is not allowed: a whole number from 2 to {MOST_INSTALLATIONS}; "
            f"type for instance {DEFAULT_INSTALLATIONS}"
        )


def has_spread(plan: Plan) -> bool:
    """Whether installations differ in anything."""
    decision = plan.decision
    return bool(decision.drawn) or bool((plan.cameras.tolerance > 0.0).any() or (plan.cameras.netd_spread > 0.0).any())


def as_drawn(plan: Plan) -> Plan:
    """The yard without any error, at the medians of what is not known."""
    middle = np.full(len(plan.decision.spread), 0.5)
    cameras = plan.cameras
    exact = cameras._replace(netd_spread=np.zeros_like(cameras.netd_spread), tolerance=np.zeros_like(cameras.tolerance))
    return plan._replace(cameras=exact, decision=fixed_decision(plan.decision, middle))


def installation_plans(plan: Plan, marks: tuple[str, ...], seed: int, count: int) -> list[Plan]:
    """One plan per installation, with nothing left to draw that an installation fixes; marks: of the plan's cameras."""
    cameras, decision = plan.cameras, plan.decision
    units = np.array([camera_units(seed, mark, count) for mark in marks]).reshape(len(marks), count, len(CAMERA_VARIABLES))
    z = np.vectorize(normal_quantile, otypes=[float])(units)
    netd, bearing, depression, height = (z[:, :, CAMERA_VARIABLES.index(name)] for name in CAMERA_VARIABLES)
    of_decision = decision_units(seed, count)
    plans = []
    for i in range(count):
        position = cameras.position.copy()
        position[:, 2] += cameras.tolerance[:, 2] * height[:, i]
        fixed = cameras._replace(
            position=position,
            bearing_rad=cameras.bearing_rad + cameras.tolerance[:, 0] * bearing[:, i],
            depression_rad=cameras.depression_rad + cameras.tolerance[:, 1] * depression[:, i],
            netd_k=cameras.netd_k * np.exp(cameras.netd_spread * netd[:, i]),
            netd_spread=np.zeros_like(cameras.netd_spread),
            tolerance=np.zeros_like(cameras.tolerance),
        )
        settled = fixed_decision(decision, of_decision[i])
        factor = clutter_of(decision, of_decision[i])
        weather = plan.weather if factor == 1.0 else clutter_scaled(plan.weather, factor)
        plans.append(plan._replace(cameras=fixed, decision=settled, weather=weather))
    return plans


def simulate_installations(
    drawn: Plan,
    plans: list[Plan],
    cells: Cells,
    active: np.ndarray,
    precision: float,
    max_crossings: int,
    threads: int = 1,
    progress: Callable[[int, int], None] | None = None,
    confidence: float = 0.95,
    of_spread: float = _OF_SPREAD,
) -> InstallationPd:
    """Every plan on the same crossings of the `active` cells (bool, (cells,)); drawn: the yard without any error, at medians.

    Rounds of 4, 8, 16 ... points a scrambling: an installation goes on in a cell, through the crossings that the others went
    through, until its Pd_i is known well enough for the spread, or `max_crossings` are reached. Few crossings tell how an
    installation differs from the yard as drawn, and many tell that yard's Pd, which is run once: Pd_i = Pd_0 + (X_i - X_0), a
    control variate, where that has the smaller error.
    """
    count, cell_count = len(plans), len(active)
    cameras = plans[0].cameras.bearing_rad.size
    most = max(2, max_crossings // REPLICATES)
    base, base_tally = _as_drawn(drawn, cells, active, precision, confidence, most, threads)
    looks = base_tally.looks
    sums = np.zeros((count, cell_count, REPLICATES))  # of Pd alone: all columns of many installations would fill the memory
    points = np.zeros((count, cell_count), dtype=np.int64)
    open_now = np.tile(active, (count, 1))
    upto = min(FIRST_POINTS, most)
    forecast = Forecast(progress, precision, int(active.sum()), REPLICATES * count)
    while True:
        for i, plan in enumerate(plans):
            which = np.flatnonzero(open_now[i])
            if not len(which):
                continue
            tally = new_tally(cell_count, cameras)
            tally.sums[:, :, SUM_PD], tally.points = sums[i], points[i].copy()
            advance(plan, cells, tally, which, upto, threads, forecast)
            sums[i], points[i] = tally.sums[:, :, SUM_PD], tally.points
            looks += tally.looks
        pd, se, together, drawn_counts = _estimates(sums, points, base)
        spread = of_spread * pd[:, active].std(axis=0, ddof=1)
        bound = np.clip(spread, _OF_PRECISION * precision, _MOST_OF_PRECISION * precision)
        # Not by its own scramblings alone: of many installations some agree by chance, and would stop where they are wrong.
        pooled = np.sqrt((se[:, active] ** 2).mean(axis=0))
        open_now[:, active] = np.maximum(se[:, active], pooled) > bound
        if upto >= most or not open_now.any():
            crossings = points * REPLICATES
            rest = np.where(drawn_counts, base_tally.crossings, crossings.min(axis=0))
            return InstallationPd(pd, se, crossings, standard_error(together), rest, looks)
        upto = min(2 * upto, most)


def _as_drawn(
    plan: Plan, cells: Cells, active: np.ndarray, precision: float, confidence: float, most: int, threads: int
) -> tuple[dict[int, np.ndarray], Tally]:
    """Means of every scrambling (cells, scramblings) of the yard as drawn, by the points that they are of, and its sums.

    NaN where a cell did not get so far; under 0 those of all its points. A cell stops where it is finer than every Pd_i need be,
    and where a run would: scramblings of 4 points agree by chance (0.04 off in cells of the demo with a standard error of 0.002).
    """
    tally = new_tally(len(active), plan.cameras.bearing_rad.size)
    found: dict[int, np.ndarray] = {}

    def means() -> np.ndarray:
        with np.errstate(invalid="ignore", divide="ignore"):
            return tally.sums[:, :, SUM_PD] / tally.points[:, None]

    def upto(which: np.ndarray, points: int) -> None:
        advance(plan, cells, tally, which, points, threads)
        found[points] = np.where((tally.points == points)[:, None], means(), np.nan)

    def still_open(which: np.ndarray, _: float) -> np.ndarray:
        wide = tally.half_width(confidence)[which] > precision
        wide |= tally.points[which] < simulate.FIRST_POINTS
        return wide | (tally.se()[which] > 0.7 * _OF_PRECISION * precision)

    in_rounds(np.flatnonzero(active), most, upto, still_open, FIRST_POINTS)
    return found | {0: means()}, tally


def _estimates(
    sums: np.ndarray, points: np.ndarray, base: dict[int, np.ndarray]
) -> tuple[np.ndarray, np.ndarray, np.ndarray, np.ndarray]:
    """Pd and its standard error over scramblings, (installations, cells), NaN where nothing was simulated; then the means over
    installations by scrambling (cells, scramblings), and where they rest on the yard as drawn (cells,) bool."""
    with np.errstate(invalid="ignore", divide="ignore"):
        plain = sums / points[:, :, None]
    there = np.full_like(plain, np.nan)
    for level, means in base.items():
        rows, columns = np.nonzero((points == level) & (level > 0))
        there[rows, columns] = means[columns]
    controlled = plain - there + base[0]
    errors = standard_error(plain), standard_error(controlled), standard_error(plain - there)
    # One estimator a cell, for all installations that the yard as drawn kept pace with: one that went on alone speaks for itself.
    known = ~np.isnan(errors[1])
    size = [np.where(known, error, 0.0) ** 2 for error in errors]
    # Differences against what they are differences of, on the same few crossings: where these agree by chance, both do. The yard
    # as drawn, added to the differences, has seen many more.
    better = known.any(axis=0) & (size[2].sum(axis=0) <= size[0].sum(axis=0))
    use = better & known
    kept = np.where(use[:, :, None], controlled, plain)
    pd = np.clip(kept.mean(axis=2), 0.0, 1.0)
    return pd, np.where(use, errors[1], errors[0]), kept.mean(axis=0), better


def wilson(successes: np.ndarray | float, trials: int, confidence: float) -> tuple[np.ndarray, np.ndarray]:
    """Ends of the interval of a share (Wilson 1927), two-sided."""
    z = float(ndtri(0.5 + 0.5 * confidence))
    share = np.asarray(successes, dtype=float) / trials
    centre = (share + z * z / (2 * trials)) / (1.0 + z * z / trials)
    half = z / (1.0 + z * z / trials) * np.sqrt(share * (1.0 - share) / trials + z * z / (4.0 * trials * trials))
    return np.clip(centre - half, 0.0, 1.0), np.clip(centre + half, 0.0, 1.0)


def add_installations(
    results: xr.Dataset,
    plan: Plan,
    cells: Cells,
    active: np.ndarray,
    count: int,
    rounds: dict,
) -> int:
    """Adds `pd_installation` and what follows from it to the results of a run. Returns the looks drawn.

    rounds: precision, max_crossings, threads, progress (`RunOptions.rounds`). Without any spread one installation is run and
    stands for all: they are the same yard.
    """
    marks = tuple(str(mark) for mark in results["camera"].values)
    plans = installation_plans(plan, marks, int(results.attrs["seed"]), count)
    alike = not has_spread(plan)
    requirement, confidence = float(results.attrs["requirement_pd"]), float(results.attrs["confidence"])
    run = plans[:1] * 2 if alike else plans
    found = simulate_installations(as_drawn(plan), run, cells, active, confidence=confidence, **rounds)
    shape = (count, results.sizes["weather"], results.sizes["segment"])
    pd = (np.repeat(found.pd[:1], count, axis=0) if alike else found.pd).reshape(shape)
    watched = ~np.isnan(pd[0])
    meets = (pd >= requirement).sum(axis=0).astype(float)
    low, high = wilson(meets, count, confidence)
    by_cell = ("weather", "segment")
    results.coords["installation"] = np.arange(1, count + 1)
    results["pd_installation"] = (("installation", *by_cell), pd)
    mean = found.pd.mean(axis=0)
    half = half_width(found.mean_se, found.mean_crossings, REPLICATES, confidence, mean)
    for end, values in zip(("", "_low", "_high"), (mean, *interval(mean, half))):
        results[f"pd_installation_mean{end}"] = (by_cell, values.reshape(shape[1:]))
    for name, share in (("pd_installation_10", _LOW), ("pd_installation_90", _HIGH)):
        results[name] = (by_cell, np.quantile(pd, share, axis=0))
    for end, values in (("", meets / count), ("_low", low), ("_high", high)):
        results[f"installation_meets_share{end}"] = (by_cell, np.where(watched, values, np.nan))
    lowest = np.array([np.nan] * count) if not watched.any() else np.nanmin(pd[:, counted_classes(results)], axis=(1, 2))
    results["installation_lowest_pd"] = ("installation", lowest)
    results.attrs["installations"] = count
    results.attrs["installations_alike"] = int(alike)
    return found.looks
