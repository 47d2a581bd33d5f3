"""Whether intervals of differences keep what they promise, as one table. See README.md beside this file.

Small changes and large ones on the demo and on the depot, every loss of the depot, and mixtures of tiny differences with rare
large ones: comparisons repeated by seed, with the stopping rule, as `compare` and `--lose-each` do them. How often does the
paired interval hold the long-run difference, on average and in the worst cell, and how wide is it against the floor of 3.1 / n
that knows nothing of what single crossings showed?
"""

from __future__ import annotations

import argparse
from collections.abc import Callable, Sequence
from pathlib import Path
from typing import NamedTuple

import numpy as np

from fencecast import load_site
from fencecast.decide.compare.paired import Paired, difference, lockstep
from fencecast.decide.losses import losses_of, plan_without, touched_cells
from fencecast.estimate.intervals import half_width
from fencecast.estimate.simulate import REPLICATES, advance, new_tally
from fencecast.kernels.crossing import SUM_PD
from fencecast.kernels.pack import pack_cells, pack_plan, watched_sections
from fencecast.meteorology.load import classes_of
from fencecast.site.quantity import Quantity

CONFIGS = Path(__file__).parents[1] / "configs"
CONFIDENCE, PRECISION, MOST = 0.95, 0.02, 512
LEAST, HIGHEST = 0.94, 0.99
CELLS = 40  # of a mixture


class Row(NamedTuple):
    """What repetitions of one comparison gave, (cells,)."""

    name: str
    covered: np.ndarray
    narrower: float


def changes(site) -> dict[str, object]:
    """Changes of a site from hardly any to large."""
    sensors = {name: sensor.model_copy(update={"netd_mk": 1.1 * sensor.netd_mk}) for name, sensor in site.sensors.items()}
    lower = [c.model_copy(update={"height_m": c.height_m - 0.3}) for c in site.camera]
    lenses = list(site.lenses)
    swapped = [c.model_copy(update={"lens": lenses[(lenses.index(c.lens) + 1) % len(lenses)]}) for c in site.camera]
    found = {
        "10 % more noise": site.replace(sensors=sensors),
        "N50 a tenth higher": site.replace(
            decision=site.decision.model_copy(update={"cycles_50": Quantity.fixed(1.1 * site.decision.cycles_50.middle())})
        ),
        "cameras 0.3 m lower": site.replace(camera=lower),
    }
    return found | ({"another lens on each": site.replace(camera=swapped)} if len(lenses) > 1 else {})


def compared(name: str, plans: Sequence, cells_of: Callable, active, which, runs: int, points: int, names, touched=None):
    """A row for every plan but the first: long run first, then `runs` repetitions."""
    truth = []
    long_run = cells_of(0, "long run")
    for plan in plans:
        tally = new_tally(len(active), plan.cameras.bearing_rad.size, replicates=32)
        advance(plan, long_run, tally, which, points, 2)
        truth.append(tally.mean(SUM_PD)[which])
    inside, widths = [], []
    for seed in range(runs):
        cells = cells_of(seed, "main")
        tallies = lockstep(plans, [cells] * len(plans), active, PRECISION, CONFIDENCE, MOST, 2, touched=touched)
        found = [difference(tallies[0], other, CONFIDENCE) for other in tallies[1:]]
        inside.append([np.abs(d.mean[which] - (t - truth[0])) <= d.half[which] for d, t in zip(found, truth[1:])])
        n = tallies[0].crossings[which]
        widths.append([np.median(half_width(d.se[which], n, REPLICATES, CONFIDENCE) / d.half[which]) for d in found])
    kept = np.mean(inside, axis=0)
    return [Row(f"{name}, {each}", kept[k], float(np.mean(np.array(widths)[:, k]))) for k, each in enumerate(names)]


def of_site(file: str, every: int, classes: Sequence[str], runs: int, points: int) -> list[Row]:
    """Changes of a worked example, in every `every`-th segment of some classes."""
    site = load_site(CONFIGS / file)
    kept = tuple(w for w in classes_of(site) if w.name in classes)
    cells_of = lambda seed, purpose: pack_cells(site, seed, kept, purpose=purpose)  # noqa: E731
    cells = cells_of(0, "main")
    active = watched_sections(site)[cells.section] & (np.arange(len(cells.key)) % every == every // 2)
    which, designs = np.flatnonzero(active), changes(site)
    plans = [pack_plan(each, kept) for each in (site, *designs.values())]
    return compared(site.title, plans, cells_of, active, which, runs, points, list(designs))


def of_losses(file: str, every: int, classes: Sequence[str], runs: int, points: int) -> list[Row]:
    """Every single loss of a worked example."""
    site = load_site(CONFIGS / file)
    kept = tuple(w for w in classes_of(site) if w.name in classes)
    cells_of = lambda seed, purpose: pack_cells(site, seed, kept, purpose=purpose)  # noqa: E731
    cells = cells_of(0, "main")
    active = watched_sections(site)[cells.section] & (np.arange(len(cells.key)) % every == every // 2)
    losses, plan = losses_of(site, "camera"), pack_plan(site, kept)
    lost = [np.array([camera.mark in loss.marks for camera in site.camera]) for loss in losses]
    plans = [plan, *(plan_without(plan, row) for row in lost)]
    names = [f"without {loss.name}" for loss in losses]
    which = np.flatnonzero(active)
    return compared(
        site.title, plans, cells_of, active, which, runs, points, names, lambda k, base: touched_cells(lost[k - 1], base)
    )


def mixture(name: str, tiny: float, large: float, share: float, cells_with: int, runs: int) -> Row:
    """Invented crossings, independent: every one differs by about `tiny`, in some cells a share of them by `large` instead."""
    random, points = np.random.default_rng(5), 16
    has = np.arange(CELLS) < cells_with
    truth = np.where(has, (1.0 - share) * tiny + share * large, tiny)
    inside, widths = [], []
    for _ in range(runs):
        sums, most, n, open_ = np.zeros((CELLS, REPLICATES)), 0.0, 0, np.ones(CELLS, dtype=bool)
        stopped = np.zeros(CELLS, dtype=int)
        while open_.any():
            new = max(n, points)
            d = tiny * random.uniform(0.5, 1.5, (CELLS, REPLICATES, new))
            d = np.where((random.random(d.shape) < share) & has[:, None, None], large, d)
            if not n:
                most = float(d.max())
            n += new
            sums[open_] += d.sum(axis=2)[open_]
            stopped[open_] = n
            base, other = new_tally(CELLS, 1), new_tally(CELLS, 1)
            other = Paired(other.sums, other.points, most, CELLS * REPLICATES * points)
            other.sums[:, :, SUM_PD], other.points[:], base.points[:] = sums, stopped, stopped
            found = difference(base, other, CONFIDENCE)
            open_ = open_ & (found.half > PRECISION) & (REPLICATES * n < MOST)
        inside.append(np.abs(found.mean - truth) <= found.half)
        widths.append(np.median(half_width(found.se, base.crossings, REPLICATES, CONFIDENCE) / found.half))
    covered = np.mean(inside, axis=0)
    return Row(name, covered[has] if has.any() else covered, float(np.mean(widths)))


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--smoke", action="store_true", help="everything once and small, to see that it works")
    parser.add_argument("--runs", type=int, default=100, help="repetitions of each comparison (100)")
    options = parser.parse_args()
    runs, points = (4, 16) if options.smoke else (options.runs, 256)
    rows = [
        mixture("tiny differences alone", 0.004, 0.0, 0.0, 0, 10 * runs),
        mixture("and 1 in 30 large, in every cell", 0.004, 0.7, 1 / 30, CELLS, 10 * runs),
        mixture("and 1 in 400 large, in every cell", 0.004, 0.7, 1 / 400, CELLS, 10 * runs),
        mixture("and 1 in 400 large, in 8 cells of 40", 0.004, 0.7, 1 / 400, 8, 10 * runs),
        mixture("and 1 in 400 large, in 1 cell of 40", 0.004, 0.7, 1 / 400, 1, 10 * runs),
        mixture("and 1 in 90 large, in 1 cell of 40", 0.004, 0.7, 1 / 90, 1, 10 * runs),
        mixture("and 1 in 60 large, in 1 cell of 40", 0.004, 0.7, 1 / 60, 1, 10 * runs),
        mixture("and 1 in 130 large, in 1 cell of 40", 0.004, 0.7, 1 / 130, 1, 10 * runs),
        mixture("and 1 in 2,000 large, in every cell", 0.004, 0.7, 1 / 2000, CELLS, 10 * runs),
    ]
    for row in rows:
        show(row, 10 * runs)
    for row in of_site("estuary-yard.toml", 8, ("clear night", "advection fog"), runs, points):
        show(row, runs)
    for work in (of_site, of_losses):
        for row in work("marsh-depot.toml", 2, ("clear", "fog"), runs, points):
            show(row, runs)


def show(row: Row, runs: int) -> None:
    """One line of the table; chance: three binomial errors below the promise."""
    chance = CONFIDENCE - 3.0 * np.sqrt(CONFIDENCE * (1.0 - CONFIDENCE) / runs)
    print(
        f"{row.name:52} kept {row.covered.mean():.3f}, worst of {len(row.covered):3} cells {row.covered.min():.3f} "
        f"(chance {chance:.3f}), {row.narrower:5.2f} times narrower",
        flush=True,
    )


if __name__ == "__main__":
    main()
