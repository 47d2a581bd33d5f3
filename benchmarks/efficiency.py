"""How many crossings of coin-tossing Monte Carlo one of ours is worth, as one table and a picture. See README.md beside this.

Every cell of the demo. Coin tossing draws everything, N_th and the noise of the pixels included, and gets 0 or 1 from a crossing:
variance Pd (1 - Pd). Between it and ours stand independent draws that keep the crossing's own probability, and our points with a
coin tossed at the end (the same sum plus the mean of p (1 - p)), so that the two gains show apart.
"""

from __future__ import annotations

import argparse
import os
import time
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path
from typing import NamedTuple

import numpy as np
from scipy.special import betaincinv

from fencecast import __version__, load_site
from fencecast.estimate.simulate import REPLICATES, advance, new_tally, simulate
from fencecast.job import warm_up
from fencecast.kernels.crossing import SUM_PD
from fencecast.kernels.pack import pack_cells, pack_plan, watched_sections
from fencecast.kernels.probe import probe_crossings
from fencecast.kernels.work import look_capacity
from fencecast.sampling.variables import SITE_VARIABLES

DEMO = Path(__file__).parents[1] / "configs" / "estuary-yard.toml"
SCRAMBLINGS = 32
INDEPENDENT = 512
SHOWN = (64, 256, 2048)
# A cell counts when neither alarms nor misses are rarer than this: nearer to 0 or 1 every program is right at once, and a
# ratio of two errors of 1e-4 says nothing about the work.
LEAST_PD = 0.01
PRECISIONS = (0.02, 0.01, 0.005)
TARGET = 15.0


class Variances(NamedTuple):
    """Variance times number of crossings, per cell and size: for coin tossing it is the same at every size."""

    crossings: np.ndarray  # (sizes,)
    pd: np.ndarray  # (cells,) long run
    coin: np.ndarray  # (cells,)
    independent: np.ndarray  # (cells,) independent draws, the crossing's own probability
    points_and_coin: np.ndarray  # (sizes, cells)
    ours: np.ndarray  # (sizes, cells)

    @property
    def counts(self) -> np.ndarray:
        return (self.pd > LEAST_PD) & (self.pd < 1.0 - LEAST_PD)

    def factor(self, variance: np.ndarray) -> np.ndarray:
        """Crossings of coin tossing that one crossing is worth, (..., cells that count)."""
        return self.coin[self.counts] / variance[..., self.counts]


def measure(plan, cells, which, sizes, scramblings: int, draws: int, threads: int) -> Variances:
    """Variances from independent scramblings of size / REPLICATES points, and from independent draws."""
    tally = new_tally(len(cells.weather), len(plan.cameras.bearing_rad), scramblings)
    ours = []
    for size in sizes:
        advance(plan, cells, tally, which, size // REPLICATES, threads)
        means = tally.sums[which, :, SUM_PD] / (size // REPLICATES)
        ours.append(means.var(axis=1, ddof=1) * (size // REPLICATES))
    pd = np.clip(tally.mean(SUM_PD)[which], 0.0, 1.0)
    alone = independent_crossings(plan, cells, which, draws, threads)
    tossed = (alone * (1.0 - alone)).mean(axis=1)  # what a coin adds to the variance of a crossing
    ours = np.array(ours)
    return Variances(np.array(sizes), pd, pd * (1.0 - pd), alone.var(axis=1, ddof=1), ours + tossed, ours)


def independent_crossings(plan, cells, which, draws: int, threads: int) -> np.ndarray:
    """Pd of each of `draws` crossings with nothing but ordinary random numbers, (cells, draws)."""
    found = np.zeros((len(which), draws))
    capacity, points = look_capacity(plan), np.arange(draws)

    def one(row: int) -> None:
        random = np.random.default_rng([17, int(which[row])])
        units = random.random((draws, len(SITE_VARIABLES)))
        keys = np.tile(random.integers(0, 2**63, (draws, 1), dtype=np.uint64), 3)
        probe_crossings(plan, cells, which[row], units, keys, points, capacity, found[row])

    with ThreadPoolExecutor(threads) as pool:
        list(pool.map(one, range(len(which))))
    return found


def coin_crossings(pd: np.ndarray, precision: float, confidence: float) -> np.ndarray:
    """Fewest tosses whose exact interval (Clopper and Pearson 1934) has at most this half width, at the expected count."""
    low = np.full(pd.shape, 1.0)
    high = np.full(pd.shape, 4.0 / precision**2)
    tail = 0.5 * (1.0 - confidence)
    while np.any(high - low > 1.0):
        n = np.floor(0.5 * (low + high))
        hits = pd * n
        bottom = np.where(hits > 0, betaincinv(np.maximum(hits, 1e-9), n - hits + 1.0, tail), 0.0)
        top = np.where(hits < n, betaincinv(hits + 1.0, np.maximum(n - hits, 1e-9), 1.0 - tail), 1.0)
        enough = 0.5 * (top - bottom) <= precision
        low, high = np.where(enough, low, n), np.where(enough, n, high)
    return high


def seconds_a_crossing(plan, cells, which, draws: int) -> tuple[float, float]:
    """(ours, coin tossing) processor seconds a crossing, on one thread.

    The coin is timed without any chain of looks and with one node of z: less than it would have to do.
    """
    bare = plan._replace(decision=plan.decision._replace(confirm_m=99, node_z=np.zeros(1), node_weight=np.ones(1)))
    capacity, random = look_capacity(plan), np.random.default_rng(3)
    units = random.random((draws, len(SITE_VARIABLES)))
    keys = np.tile(random.integers(0, 2**63, (draws, 1), dtype=np.uint64), 3)
    points, out = np.arange(draws), np.empty(draws)
    least = np.full((2, len(which)), np.inf)
    for _ in range(5):  # in turn, and the least of five: others use the processor too
        for row, cell in enumerate(which):
            for column, timed in enumerate((plan, bare)):
                start = time.thread_time()
                probe_crossings(timed, cells, cell, units, keys, points, capacity, out)
                least[column, row] = min(least[column, row], time.thread_time() - start)
    ours, coin = least.sum(axis=1) / (draws * len(which))
    return ours, coin


def print_factors(found: Variances) -> None:
    shown = [k for k, size in enumerate(found.crossings) if size in SHOWN]
    counts = found.counts
    print(
        f"{len(counts)} cells; {counts.sum()} count, with {LEAST_PD:g} < Pd < {1 - LEAST_PD:g}; "
        f"{np.sum(found.pd <= LEAST_PD)} lie below, {np.sum(found.pd >= 1 - LEAST_PD)} above"
    )
    print("crossings of coin tossing that one crossing is worth: median over those cells (quartiles)")
    print(f"{'':44}" + "".join(f"{f'{found.crossings[k]} crossings':>24}" for k in shown))
    flat = np.broadcast_to(found.independent, found.ours.shape)
    lines = (
        ("coin tossing", np.broadcast_to(found.coin, found.ours.shape)),
        ("independent draws, own probability kept", flat),
        ("our points, a coin at the end", found.points_and_coin),
        ("ours: our points, own probability kept", found.ours),
    )
    for name, variance in lines:
        words = [_quartiles(found.factor(variance[k])) for k in shown]
        print(f"{name:44}" + "".join(f"{w:>24}" for w in words))
    middle = counts & (found.pd > 0.05) & (found.pd < 0.95)
    words = [_quartiles(found.coin[middle] / found.ours[k, middle]) for k in shown]
    print(f"{f'ours, {middle.sum()} cells with 0.05 < Pd < 0.95':44}" + "".join(f"{w:>24}" for w in words))
    total = [found.coin.sum() / found.ours[k].sum() for k in shown]
    print(f"{'ours, all cells: ratio of summed variances':44}" + "".join(f"{f'{t:.1f}':>24}" for t in total))
    at = list(found.crossings).index(256) if 256 in found.crossings else len(found.crossings) - 1
    print(f"target: a median of {TARGET:g} at 256 crossings; measured {np.median(found.factor(found.ours[at])):.1f}")


def _quartiles(values: np.ndarray) -> str:
    low, middle, high = np.percentile(values, [25, 50, 75])
    return f"{middle:.1f} ({low:.1f} to {high:.1f})"


def print_times(plan, cells, which, pd, precisions, threads: int, draws: int) -> None:
    ours_s, coin_s = seconds_a_crossing(plan, cells, which[:: max(1, len(which) // 60)], draws // 2)
    print(f"\nprocessor time a crossing: ours {1e6 * ours_s:.1f} us, coin tossing at least {1e6 * coin_s:.1f} us")
    print(f"{'half width at 95 %, every cell':34} {'ours':>12} {'coin tossing':>13} {'crossings':>10} {'time':>7}   median cell")
    active = np.zeros(len(cells.weather), dtype=bool)
    active[which] = True
    for precision in precisions:
        tally = simulate(plan, cells, active, precision, 0.95, max_crossings=2**20, threads=threads)
        ours, coin = tally.crossings[which], coin_crossings(pd, precision, 0.95)
        ratio = coin.sum() / ours.sum()
        counts = (pd > LEAST_PD) & (pd < 1.0 - LEAST_PD)
        print(
            f"{precision:<34g} {ours.sum():12,} {coin.sum():13,.0f} {ratio:8.1f} x {ratio * coin_s / ours_s:5.1f} x   "
            f"{np.median(coin[counts] / ours[counts]):.1f} x"
        )


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--smoke", action="store_true", help="everything once and small, to see that it works")
    parser.add_argument("--every", type=int, default=1, metavar="N", help="only every Nth segment (1)")
    parser.add_argument("-o", "--output", type=Path, help="write the picture of convergence to this path")
    options = parser.parse_args()
    site, threads = load_site(DEMO), os.cpu_count() or 1
    plan, cells = pack_plan(site), pack_cells(site, 1)
    every = 40 if options.smoke else options.every
    segment = np.arange(len(cells.weather)) % (len(cells.weather) // len(site.weather))
    which = np.flatnonzero(watched_sections(site)[cells.section] & (segment % every == 0))
    sizes = (16, 64, 256) if options.smoke else (16, 32, 64, 128, 256, 512, 1024, 2048)
    scramblings, draws = (8, 16) if options.smoke else (SCRAMBLINGS, INDEPENDENT)
    warm_up(plan, cells)
    if options.smoke:
        print("smoke run: figures mean nothing")
    found = measure(plan, cells, which, sizes, scramblings, draws, threads)
    print_factors(found)
    print_times(plan, cells, which, found.pd, PRECISIONS[:1] if options.smoke else PRECISIONS, threads, draws)
    if options.output:
        from convergence import draw_convergence
        from fencecast.show import save_picture

        attrs = {"title": site.title, "version": __version__, "seed": 1, "site_sha256": site.sha256}
        save_picture(draw_convergence(found, attrs | {"scramblings": scramblings}), options.output)
        print(f"picture: {options.output}")


if __name__ == "__main__":
    main()
