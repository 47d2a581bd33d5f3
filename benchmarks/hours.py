"""How well a few states tell all hours of a year, as two tables. See README.md beside this file.

First against the truth: every different state of the example's year simulated by itself in some segments; then choices by several
seeds, predicted from the truth's own crossings, so that nothing but the choice differs. Then as `run` does it: a number of
states, and twice as many.
"""

from __future__ import annotations

import argparse
import os
import time
from dataclasses import replace
from pathlib import Path

import numpy as np
from scipy.sparse import csr_matrix
from scipy.special import stdtrit

from fencecast import load_site
from fencecast.hours.representatives import ROUNDS, Choice, distinct_states, represent, state_classes
from fencecast.hours.states import DEFAULT_MOST_CROSSINGS, EveryHour, StatePd, simulate_states, simulate_year
from fencecast.hours.weakhours import count_hours, hour_weights, variation
from fencecast.job import DEFAULT_PRECISION
from fencecast.kernels.pack import pack_cells, pack_plan, watched_sections
from fencecast.meteorology.load import classes_of, load_year

EXAMPLE = Path(__file__).parents[1] / "configs" / "marsh-depot.toml"
TRUE_CROSSINGS, NEAR_PD = 64, 0.05
# Segments that are weak in more of the hours leave nothing to predict.
MOST_SHARE = 0.99


def chosen_by(seed: int, count: int, distinct, pd: np.ndarray, need: float) -> np.ndarray:
    """The states that a run with this seed chooses when it is given the true Pd (states, segments) of those before."""
    choice = Choice(distinct, count, seed)
    new, asked = choice.first(), 0
    while len(new):
        asked += 1
        left = count - len(choice.rows)
        new = choice.further(pd[choice.rows], need, -(-left // max(ROUNDS - asked + 1, 1))) if left else new[:0]
    return choice.rows


def nearest_tells(points: np.ndarray, rows: np.ndarray, pd: np.ndarray) -> np.ndarray:
    """Pd of every state as that of the nearest chosen one: what kriging has to beat."""
    chosen = points[rows]
    return pd[rows][((chosen**2).sum(axis=1) - 2.0 * points @ chosen.T).argmin(axis=1)]


def hours_of(year, distinct) -> csr_matrix:
    """Share of every distinct state in each counted hour, (counted hours, states)."""
    at = (year.states.hour[distinct.rows], distinct.member)
    shape = (len(year.armed), len(distinct.weights))
    return csr_matrix((year.states.weight[distinct.rows], at), shape=shape)[np.flatnonzero(year.counted)]


def against_truth(year, distinct, pd: np.ndarray, need: float, confidence: float, counts, seeds) -> None:
    """pd (states, segments): the truth."""
    hours = hours_of(year, distinct)
    true = hours @ pd
    hang = ((true < need).mean(axis=0) < MOST_SHARE) & (true < need).any(axis=0)
    pd, true = pd[:, hang], true[:, hang]
    weak = (true < need).sum(axis=0) / year.period_years
    print(f"{len(distinct.weights)} states, {hours.shape[0]} hours; below the requirement: {weak.round().astype(int).tolist()}")
    print(
        f"{'states':>6} {'error of a count':>16} {'largest':>8} {'by the nearest':>14} {'kept':>6} {'width':>6} "
        f"{'hours kept':>10} {'sizes of shares':>16}"
    )
    for count in counts:
        rows = {name: [] for name in ("error", "nearest", "kept", "width", "hours", "size")}
        for seed in seeds:
            chosen, order = represent(distinct, picked := chosen_by(seed, count, distinct, pd, need))
            known = pd[picked[order]]
            exact = StatePd(np.repeat(known[:, :, None], 2, axis=2), np.full(known.shape, 10**9), 0)
            found = count_hours(year, chosen, exact, need, confidence)
            given = hour_weights(year, chosen, chosen.share)[year.counted]
            unsure = hour_weights(year, chosen, chosen.unsure[:, None])[year.counted] * variation(chosen, exact)
            half = stdtrit(len(chosen) - 1, 0.5 + 0.5 * confidence) * unsure
            near = np.abs(true - need) < NEAR_PD
            by_nearest = (hours @ nearest_tells(distinct.points, picked, pd) < need).sum(axis=0) / year.period_years
            rows["error"].append((found.middle - weak) / weak)
            rows["nearest"].append((by_nearest - weak) / weak)
            rows["kept"].append((found.low <= weak) & (weak <= found.high))
            rows["width"].append((found.high - found.low) / weak)
            rows["hours"].append((np.abs(np.clip(given @ known, 0.0, 1.0) - true) <= half)[near].mean())
            rows["size"].append(np.quantile(np.abs(given).sum(axis=1), (0.5, 1.0)))
        error, kept = np.abs(rows["error"]), np.array(rows["kept"])
        size = np.mean(rows["size"], axis=0)
        print(
            f"{count:6d} {np.median(error):16.2%} {error.max():8.2%} {np.median(np.abs(rows['nearest'])):14.2%} "
            f"{kept.mean():6.3f} {np.median(rows['width']):6.1%} {np.mean(rows['hours']):10.3f} {size[0]:8.2f} to {size[1]:4.2f}"
        )


def doubled(site, year, plan, active: np.ndarray, counts, precision: float, least_hours: float, threads: int) -> None:
    """A run's own counts by `counts[0]` states against those by `counts[1]`, each with the crossings that it takes."""
    need, confidence = site.requirement.pd, site.requirement.confidence
    found = []
    for count in counts:
        start = time.process_time()
        chosen, _, pd = simulate_year(
            site, year, plan, site.seed, active, precision, DEFAULT_MOST_CROSSINGS, threads, None, count
        )
        found.append(count_hours(year, chosen, pd, need, confidence))
        print(f"{count} states: {pd.looks:,} looks, {time.process_time() - start:.0f} s of processor time")
    few, many = found
    with np.errstate(invalid="ignore"):
        some = (many.middle >= least_hours) & (many.middle < MOST_SHARE * year.counted.sum() / year.period_years)
    change = np.abs(few.middle - many.middle)[some] / many.middle[some]
    kept = (few.low <= many.middle) & (many.middle <= few.high)
    width = (few.high - few.low)[some] / few.middle[some]
    print(
        f"{counts[0]} against {counts[1]} states, {some.sum()} segments: a count changes by {np.median(change):.2%} in the "
        f"median, by {np.quantile(change, 0.9):.1%} or less in 9 of 10, by {change.max():.1%} at most;\n"
        f"its interval keeps the other count in {kept[some].mean():.1%} and is {np.median(width):.0%} of it wide in the median"
    )


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--smoke", action="store_true", help="everything once and small, to see that it works")
    parser.add_argument("--site", type=Path, default=EXAMPLE, help="a site file with a weather file")
    options = parser.parse_args()
    threads = os.cpu_count() or 1
    site = load_site(options.site)
    year = load_year(site)
    segments, counts, seeds, doubling = 10, (32, 48, 64, 96), range(10), (64, 128)
    if options.smoke:
        print("smoke run: figures mean nothing")
        segments, counts, seeds, doubling = 2, (24,), range(2), (12, 24)
        year = replace(year, armed=year.armed & (np.arange(len(year.armed)) < 1000))
    plan = pack_plan(site, classes_of(site, year))
    everywhere = watched_sections(site)[pack_cells(site, site.seed, (EveryHour,)).section]
    watched, some = np.flatnonzero(everywhere), np.zeros_like(everywhere)
    some[watched[np.linspace(0, len(watched) - 1, segments + 2).round().astype(int)[1:-1]]] = True
    distinct = distinct_states(site, year)
    classes = state_classes(distinct, np.arange(len(distinct.weights)))
    truth = simulate_states(site, plan, classes, site.seed, some, 1e-4, TRUE_CROSSINGS, threads)
    pd = truth.means[:, some].mean(axis=2, dtype=float)
    against_truth(year, distinct, pd, site.requirement.pd, site.requirement.confidence, counts, seeds)
    print()
    doubled(
        site,
        year,
        plan,
        some if options.smoke else everywhere,
        doubling,
        DEFAULT_PRECISION,
        10.0 if options.smoke else 100.0,
        threads,
    )


if __name__ == "__main__":
    main()
