"""Whether a fit finds the N50 and the correlation that logs were made with, as one table. See README.md beside this file.

Logs are drawn for an invented yard of two facing cameras (tests/data/proof/short-yard.toml): six places, walking and crouching,
40, 120 and 300 walks, places alike or with a spread of their own. The truth's crossings have another seed than the fit's. Then
the same with the correlation at 0, and the largest z of eight re-tests of twelve walks after a baseline of forty.
"""

from __future__ import annotations

import argparse
import math
import time
from collections.abc import Sequence
from pathlib import Path

import numpy as np

from fencecast import Site, load_site
from fencecast.prove.fit.again import LAST
from fencecast.prove.fit.crossings import SEED, Crossings, Simulated
from fencecast.prove.fit.grid import PLACE_SPREADS, Grid, Prior
from fencecast.prove.fit.groups import Group
from fencecast.prove.fit.posterior import Posterior, posterior

YARD = Path(__file__).parents[1] / "tests" / "data" / "proof" / "short-yard.toml"
MARKS = ("W", "E")
PLACES_M = (9.0, 15.0, 21.0, 27.0, 33.0, 39.0)
GAITS = ("walk", "crouch")
WALKS = (40, 120, 300)
N50, CORRELATION = 2.6, 0.3
LEAST_HELD, MOST_HELD = 0.92, 0.99
FLOOR = 1e-6


class Test:
    """The kinds of the test, simulated once for the truth and once for the fit."""

    def __init__(self, site: Site, crossings: int, truth_seed: int = 77):
        nobody = np.zeros((0, len(MARKS)), dtype=np.int8)
        self.groups = [
            Group(f"front {x:g}", "front", x, gait, "in", "", None, None, site.weather[0].name, (), None, nobody)
            for x in PLACES_M
            for gait in GAITS
        ]
        self.truth: Crossings = Simulated(site, self.groups, MARKS, crossings=crossings, seed=truth_seed)
        fit: Crossings = Simulated(site, self.groups, MARKS, crossings=crossings, seed=SEED)
        self.prior, self.grid = Prior(2.0, 0.5), Grid.about(2.0)
        # ln P of each pattern of both cameras at the nodes of the grid: (kinds, patterns, nodes, r nodes).
        patterns = np.array([[0, 0], [1, 0], [0, 1], [1, 1]], dtype=np.int8)
        nodes = self.grid.cycles_50, self.grid.r_nodes
        ln = [fit.log_likelihood(k, patterns, *nodes, None) for k in range(len(self.groups))]
        self.ln = np.logaddexp(np.array(ln), math.log(FLOOR))
        self.place = np.array([PLACES_M.index(group.chainage_m) for group in self.groups])

    def log(self, rng: np.random.Generator, walks: int, spread: float, r: float, n50: float = N50) -> np.ndarray:
        """Counts (kinds, patterns) of one log; places get shifts of ln N50 of their own."""
        shift = np.exp(spread * rng.standard_normal(len(PLACES_M)))
        return self.shifted(rng, walks, shift, r, n50)

    def shifted(self, rng: np.random.Generator, walks: int, shift: np.ndarray, r: float, n50: float = N50) -> np.ndarray:
        """The same with the shifts given: a re-test meets the places that were there before."""
        each = np.bincount(np.arange(walks) * 5 % len(self.groups), minlength=len(self.groups))  # 5: places in turns
        counts = np.zeros((len(self.groups), 4))
        for k in range(len(self.groups)):
            table = self.truth.pattern_table(k, (0, 1), n50 * float(shift[self.place[k]]), r)
            counts[k] = rng.multinomial(each[k], table / table.sum())
        return counts

    def fit(self, counts: np.ndarray, spreads: Sequence[float] = PLACE_SPREADS) -> Posterior:
        """The posterior of counts."""
        ln = np.zeros((len(PLACES_M), 1, len(self.grid.ln_nodes), len(self.grid.r_nodes)))
        for k, of_kind in enumerate(counts):
            ln[self.place[k], 0] += np.tensordot(of_kind, self.ln[k], axes=1)
        return posterior([f"front {x:g}" for x in PLACES_M], ln, self.prior, self.grid, spreads)


def recovered(test: Test, walks: int, spread: float, logs: int, r: float, spreads: Sequence[float], seed: int) -> list[str]:
    """A row of the table."""
    errors, said, held, r_errors, r_said, r_held = [], [], 0, [], [], 0
    for k in range(logs):
        rng = np.random.default_rng([seed, walks, round(100 * spread), round(100 * r), k])
        known = test.fit(test.log(rng, walks, spread, r), spreads)
        n50, correlation = known.cycles_50(), known.correlation()
        errors.append(n50.mean_ln - math.log(N50))
        said.append(n50.sd_ln)
        held += n50.low <= N50 <= n50.high
        r_errors.append(correlation.mean - r)
        r_said.append(correlation.sd)
        r_held += correlation.low <= r <= correlation.high
    rms = math.sqrt(float(np.mean(np.square(errors))))
    r_rms = math.sqrt(float(np.mean(np.square(r_errors))))
    fitted = "no" if len(spreads) == 1 else "yes"
    return [
        str(walks), f"{spread:.2f}", fitted, f"{r:.1f}", f"{100 * np.mean(errors):+.1f} %", f"{100 * rms:.1f} %",
        f"{100 * np.mean(said):.1f} %", f"{100 * held / logs:.1f} %", f"{np.mean(r_errors) + r:.2f}", f"{r_rms:.2f}",
        f"{np.mean(r_said):.2f}", f"{100 * r_held / logs:.1f} %",
    ]  # fmt: skip


def largest_z(test: Test, sets: int, seed: int, retests: int = 8) -> np.ndarray:
    """Largest z of a set of re-tests of 12 walks after 40, nothing changed: (sets,), places' spread 0.15."""
    found = np.zeros(sets)
    for k in range(sets):
        rng = np.random.default_rng([seed, 12, k])
        shift = np.exp(0.15 * rng.standard_normal(len(PLACES_M)))
        logs = [test.shifted(rng, 40, shift, CORRELATION)]
        for _ in range(retests):
            logs.append(test.shifted(rng, 12, shift, CORRELATION))
            for last in range(1, min(LAST, len(logs) - 1) + 1):
                before = test.fit(np.sum(logs[:-last], axis=0)).cycles_50()
                after = test.fit(np.sum(logs[-last:], axis=0)).cycles_50()
                z = (after.mean_ln - before.mean_ln) / math.hypot(before.sd_ln, after.sd_ln)
                found[k] = max(found[k], z)
    return found


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--smoke", action="store_true", help="everything once and small, to see that it works")
    parser.add_argument("--logs", type=int, help="logs of each design (200)")
    parser.add_argument("--walks", type=int, nargs="*", default=WALKS, help="walks of a log (40 120 300)")
    parser.add_argument("--sets", type=int, default=0, help="sets of eight re-tests as well (a second each)")
    parser.add_argument("--seed", type=int, default=1)
    options = parser.parse_args()
    logs, crossings = options.logs or (4 if options.smoke else 200), 16 if options.smoke else 128
    if options.smoke:
        print("smoke run: figures mean nothing")
    test = Test(load_site(YARD), crossings)
    names = ("walks", "spread", "fitted", "r", "N50 bias", "rms", "sd said", "held", "r mean", "rms", "sd said", "held")
    print(
        f"{logs} logs a row, N50 {N50}; held: 95 % intervals (needed for N50: {100 * LEAST_HELD:.0f} to {100 * MOST_HELD:.0f} %)"
    )
    print("  ".join(f"{name:>8}" for name in names))
    start = time.perf_counter()
    for spread, r, spreads in (
        (0.0, CORRELATION, PLACE_SPREADS), (0.15, CORRELATION, PLACE_SPREADS), (0.0, 0.0, PLACE_SPREADS),
        (0.15, CORRELATION, (0.0,)),
    ):  # fmt: skip
        for walks in options.walks[:1] if options.smoke else options.walks:
            print("  ".join(f"{cell:>8}" for cell in recovered(test, walks, spread, logs, r, spreads, options.seed)), flush=True)
    print(f"{time.perf_counter() - start:.0f} s")
    sets = 1 if options.smoke else options.sets
    if sets:
        z = largest_z(test, sets, options.seed, 2 if options.smoke else 8)
        print(f"largest z of eight re-tests without a change, {sets} sets: 95 % below {np.quantile(z, 0.95):.2f}")


if __name__ == "__main__":
    main()
