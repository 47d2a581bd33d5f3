"""Whether the error bars keep what they promise, as one table. See README.md beside this file.

Small runs repeated by seed, each with the stopping rule, as `run` does them: how often the interval holds the long-run value,
how often a verdict is wrong when the requirement stands exactly at the long-run value (the worst place for it), how wide the
interval is against a plain Student interval, and what the stopping rule does to the mean. Then the lowest of many equal cells,
first as estimated and then on fresh crossings.
"""

from __future__ import annotations

import argparse
import os
from pathlib import Path
from typing import NamedTuple

import numpy as np
from scipy.special import stdtrit

from fencecast import Site, load_site
from fencecast.estimate.dataset import build_results
from fencecast.estimate.intervals import interval, verdicts
from fencecast.estimate.options import RunOptions
from fencecast.estimate.simulate import FIRST_POINTS, REPLICATES, advance, new_tally, simulate
from fencecast.job import run_lowest_again
from fencecast.kernels.crossing import SUM_PD
from fencecast.kernels.pack import pack_cells, pack_plan, watched_sections

DEMO = Path(__file__).parents[1] / "configs" / "estuary-yard.toml"
PRECISION, CONFIDENCE = 0.02, 0.95
LEAST_COVERAGE, MOST_WRONG, MOST_WIDTH = 0.917, 0.025, 1.5
# Distances [m] from a camera 4 m up: blind ground, where rare crossings (the few who rise into view) make up all of Pd; then
# clear view, good, middling and poor.
ONE_CAMERA_M = {
    "below the camera": 2.2,
    "rare crossings 1": 2.34,
    "rare crossings 2": 2.4,
    "in its shadow": 2.5,
    "its edge": 3.0,
    "near": 10.0,
    "before middle": 20.2,
    "middle": 41.6,
    "far": 105.0,
}
DEMO_PD = (0.05, 0.2, 0.35, 0.5, 0.65, 0.8, 0.9, 0.95, 0.98, 0.995)
EQUAL_CELLS, EQUAL_AT_M, EQUAL_PRECISION = 40, 3.0, 0.05


def one_camera(places: dict[str, float]) -> Site:
    """A camera at the origin that looks east; a section of 1 m for each place, crossed northwards, on a clear cold night."""
    night = {"name": "clear cold night", "hours_per_year": 1000, "air_temperature_c": -5.0, "relative_humidity": 0.75}
    camera = {"mark": "W", "position_m": [0.0, 0.0], "height_m": 4.0, "bearing_deg": 90.0, "depression_deg": 14.0}
    return Site(
        schema=2,
        title="One camera",
        seed=7,
        site={"ground": "gravel", "segment_length_m": 1.0},
        perimeter=[{"name": n, "points_m": [[d - 0.5, 0.0], [d + 0.5, 0.0]], "inside": "left"} for n, d in places.items()],
        sensors={"core": {"columns": 160, "rows": 120, "pitch_um": 17.0, "netd_mk": 50.0}},
        lenses={"wide": {"focal_length_mm": 3.0, "f_number": 1.0}},
        camera=[camera | {"sensor": "core", "lens": "wide"}],
        rule=[{"kind": "line", "points_m": [[-20.0, 0.0], [160.0, 0.0]]}],
        weather=[night | {"ground_minus_air_k": -2.0}],
    )


class Cell(NamedTuple):
    """What repeated runs of one cell gave."""

    name: str
    long_run: float
    long_run_se: float
    covered: float
    weak: float  # share called weak with the requirement at the long-run value
    meets: float
    width: float  # mean width over that of Student's interval of the same crossings
    crossings: float
    stopped: tuple[float, float]  # mean less the long-run value, standard error
    fixed: tuple[float, float]  # the same for the first round alone


def repeated(site: Site, which: np.ndarray, names: list[str], runs: int, points: int, threads: int) -> list[Cell]:
    """`runs` runs by seed of the cells `which`, all in one call: a seed is nothing but another set of keys."""
    plan = pack_plan(site)
    long_run = new_tally(len(pack_cells(site, 0).weather), len(site.camera), replicates=32)
    advance(plan, pack_cells(site, 0, purpose="long run"), long_run, which, points, threads)
    truth, truth_se = long_run.mean(SUM_PD)[which], long_run.se()[which]
    cells = pack_cells(site, 0)
    keys = np.concatenate([pack_cells(site, seed).key[which] for seed in range(runs)])
    copies = [np.tile(part[which], runs) for part in (cells.weather, cells.section, cells.start_m, cells.end_m)]
    cells = type(cells)(*copies, keys)
    tally = simulate(plan, cells, np.ones(len(keys), dtype=bool), PRECISION, CONFIDENCE, threads=threads)
    first = new_tally(len(keys), len(site.camera))
    advance(plan, cells, first, np.arange(len(keys)), FIRST_POINTS, threads)
    pd, half = tally.mean(SUM_PD), tally.half_width(CONFIDENCE)
    student = stdtrit(REPLICATES - 1, 0.5 + 0.5 * CONFIDENCE) * tally.se()
    pd, half, student, crossings, fixed = (
        part.reshape(runs, len(which)) for part in (pd, half, student, tally.crossings, first.mean(SUM_PD))
    )
    low, high = interval(pd, half)
    found = []
    for k, name in enumerate(names):
        called = verdicts(low[:, k], high[:, k], truth[k])
        found.append(
            Cell(
                name,
                truth[k],
                truth_se[k],
                float(np.mean((low[:, k] <= truth[k]) & (truth[k] <= high[:, k]))),
                float(np.mean(called == "weak")),
                float(np.mean(called == "meets")),
                float(half[:, k].mean() / student[:, k].mean()) if student[:, k].any() else np.inf,
                float(crossings[:, k].mean()),
                _mean_and_error(pd[:, k] - truth[k]),
                _mean_and_error(fixed[:, k] - truth[k]),
            )
        )
    return found


def _mean_and_error(values: np.ndarray) -> tuple[float, float]:
    return float(values.mean()), float(values.std(ddof=1) / np.sqrt(len(values)))


def demo_cells(site: Site, wanted, threads: int) -> tuple[np.ndarray, list[str]]:
    """The cells of the demo nearest to the wanted Pd, by a first look at every fifth segment."""
    plan, cells = pack_plan(site), pack_cells(site, 0, purpose="choice of cells")
    segments = len(cells.weather) // len(site.weather)
    some = np.flatnonzero(watched_sections(site)[cells.section] & (np.arange(len(cells.weather)) % segments % 5 == 2))
    look = new_tally(len(cells.weather), len(site.camera))
    advance(plan, cells, look, some, 32, threads)
    pd = look.mean(SUM_PD)[some]
    which = some[sorted({int(np.argmin(np.abs(pd - value))) for value in wanted})]
    return which, [f"demo, segment {cell % segments}, {site.weather[cell // segments].name}" for cell in which]


def lowest_of_equals(runs: int, points: int, threads: int) -> dict[str, tuple[float, float]]:
    """Mean error of the lowest of equal cells as first estimated, and on fresh crossings; of all cells beside it."""
    site = one_camera({f"copy {k + 1}": EQUAL_AT_M for k in range(EQUAL_CELLS)})
    plan = pack_plan(site)
    long_run = new_tally(EQUAL_CELLS, 1, replicates=32)
    advance(plan, pack_cells(site, 0, purpose="long run"), long_run, np.arange(1), points, threads)
    truth = long_run.mean(SUM_PD)[0]
    errors = {"all cells": [], "the lowest, as first estimated": [], "the same cell on fresh crossings": []}
    for seed in range(runs):
        everywhere = np.ones(EQUAL_CELLS, dtype=bool)
        tally = simulate(plan, pack_cells(site, seed), everywhere, EQUAL_PRECISION, CONFIDENCE, threads=threads)
        results = build_results(site, site.weather, tally, {})
        run_lowest_again(site, results, plan, site.weather, RunOptions.of(site, seed, EQUAL_PRECISION, 2048, threads))
        pd, fresh = results["pd"].values[0] - truth, results["pd_fresh"].values[0] - truth
        lowest = int(np.argmin(pd))
        for name, value in zip(errors, (pd.mean(), pd[lowest], fresh[lowest])):
            errors[name].append(value)
    return {name: _mean_and_error(np.array(values)) for name, values in errors.items()}


def print_cells(cells: list[Cell], runs: int) -> None:
    print(f"{runs} runs a cell to a half width of {PRECISION:g}; the verdict's requirement is the long-run Pd itself")
    print(
        f"{'cell':42} {'long run':>8} {'kept':>6} {'wrong weak':>10} {'wrong meets':>11} {'width':>6} {'crossings':>9}"
        f"  {'stopped - long run':>20}  {'first round - long run':>22}"
    )
    for c in cells:
        width = f"{c.width:6.2f}" if c.width < 100 else " > 100"
        print(
            f"{c.name:42} {c.long_run:8.4f} {c.covered:6.4f} {c.weak:10.4f} {c.meets:11.4f} {width} {c.crossings:9.0f}"
            f"  {c.stopped[0]:+9.4f} +- {c.stopped[1]:.4f}   {c.fixed[0]:+9.4f} +- {c.fixed[1]:.4f}"
        )
    kept = np.array([c.covered for c in cells])
    wide = max((c.width for c in cells if 0.05 < c.long_run < 0.95), default=np.nan)
    print(f"kept on average {kept.mean():.4f}, least {kept.min():.4f} (target {LEAST_COVERAGE} in every cell)")
    worst = max(cells, key=lambda c: max(c.weak, c.meets))
    noise = np.sqrt(MOST_WRONG * (1.0 - MOST_WRONG) / runs)
    print(
        f"wrong verdicts on average {np.mean([c.weak for c in cells]):.4f} weak, {np.mean([c.meets for c in cells]):.4f} meets; "
        f"most {max(worst.weak, worst.meets):.4f} ({worst.name}); target {MOST_WRONG}, chance {noise:.4f} either way"
    )
    print(f"width at most {wide:.2f} times Student's where 0.05 < Pd < 0.95 (target {MOST_WIDTH})")


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--smoke", action="store_true", help="everything once and small, to see that it works")
    parser.add_argument("--runs", type=int, help="repetitions of each cell (400)")
    options = parser.parse_args()
    runs = options.runs or (10 if options.smoke else 400)
    points, threads = (64 if options.smoke else 4096), os.cpu_count() or 1
    if options.smoke:
        print("smoke run: figures mean nothing")
    site = one_camera(ONE_CAMERA_M)
    cells = repeated(site, np.arange(len(ONE_CAMERA_M)), list(ONE_CAMERA_M), runs, points, threads)
    demo = load_site(DEMO)
    which, names = demo_cells(demo, DEMO_PD[:2] if options.smoke else DEMO_PD, threads)
    cells += repeated(demo, which, names, runs, points // 2, threads)
    print_cells(cells, runs)
    seeds = 3 if options.smoke else 100
    print(f"\n{seeds} runs of {EQUAL_CELLS} equal cells to a half width of {EQUAL_PRECISION:g}: mean error of Pd")
    for name, (mean, error) in lowest_of_equals(seeds, points, threads).items():
        print(f"{name:42} {mean:+.4f} +- {error:.4f}")


if __name__ == "__main__":
    main()
