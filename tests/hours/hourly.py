"""A small site with an invented year, for tests of weak hours: five segments, one camera, twenty days."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from fencecast.estimate.dataset import build_results
from fencecast.estimate.options import RunOptions
from fencecast.estimate.simulate import DEFAULT_MAX_CROSSINGS, advance, new_tally, simulate
from fencecast.hours.states import EveryHour, state_cells
from fencecast.hours.weakhours import add_weak_hours
from fencecast.kernels.crossing import SUM_PD
from fencecast.kernels.pack import pack_cells, pack_plan
from fencecast.meteorology.year import HourClass
from kernels.kernel_sites import make_site
from meteorology.invented_year import invented_year, year_of

CROSSINGS = 64
SITE = make_site(segment_length_m=8.0, lens={"focal_length_mm": 6.0, "f_number": 1.0})


def small_year(seed: int = 4, hours: int = 480):
    """A damp month of which one hour in three is foggy, so that a few days hold every kind of hour."""
    return invented_year(seed=seed, hours=hours, fog_share=0.3, missing=10)


def run_hours(year, site=SITE, seed: int = 7, count: int = 24, precision: float = 0.5, most: int = CROSSINGS, threads: int = 1):
    """Results of a run with almost nothing but the year's hours; by default every cell gets CROSSINGS crossings."""
    classes = (HourClass("all hours", 4000.0, year.states),)
    plan = pack_plan(site, classes)
    cells = pack_cells(site, seed, classes)
    tally = new_tally(len(cells.weather), len(site.camera))
    advance(plan, cells, tally, np.arange(len(cells.weather)), 2, 1)
    results = build_results(site, classes, tally, {"version": "0", "seed": seed, "command": "", "precision": precision})
    options = RunOptions(seed, precision, DEFAULT_MAX_CROSSINGS, threads)
    add_weak_hours(site, year, results, plan, options, count, most)
    return results


def every_state(year, site=SITE, seed: int = 7) -> np.ndarray:
    """Pd of every counted row of the year's states by itself, (rows, segments): a class for each, none stands for another."""
    rows = np.flatnonzero(year.counted[year.states.hour])
    classes = [HourClass(f"row {row}", 0.0, year.states.take(np.array([row]))) for row in rows]
    cells = state_cells(site, seed, len(classes))
    tally = simulate(pack_plan(site, classes), cells, np.ones(len(cells.weather), dtype=bool), 0.0005, 0.95, CROSSINGS, 1)
    return tally.mean(SUM_PD).reshape(len(rows), -1)


def weak_hours_of(year, pd_of_rows: np.ndarray, need: float) -> np.ndarray:
    """Hours a year below the requirement, (segments,), added up hour by hour in plain Python."""
    rows = np.flatnonzero(year.counted[year.states.hour])
    weak = np.zeros(pd_of_rows.shape[1])
    for hour in np.flatnonzero(year.counted):
        own = np.flatnonzero(year.states.hour[rows] == hour)
        pd = sum(year.states.weight[rows[k]] * pd_of_rows[k] for k in own)
        weak += pd < need
    return weak / year.period_years


def shuffled(year, seed: int = 3):
    """The same states at other hours: what happened in an hour moves with its armed mark to another place in the year."""
    to = np.random.default_rng(seed).permutation(len(year.armed))
    states = replace(year.states, hour=to[year.states.hour])
    armed, known = np.empty_like(year.armed), np.empty_like(year.known)
    armed[to], known[to] = year.armed, year.known
    order = np.argsort(states.hour, kind="stable")
    moved = states.take(order)
    columns = {name: getattr(moved, name) for name in moved.__dataclass_fields__}
    return year_of(year.records.time, columns, armed, known, None, year.period_years)


__all__ = ["CROSSINGS", "SITE", "EveryHour", "every_state", "run_hours", "shuffled", "small_year", "weak_hours_of"]
