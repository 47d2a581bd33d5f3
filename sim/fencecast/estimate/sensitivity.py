"""Which inputs an answer depends on: shares of the variance of a crossing's Pd that each drawn variable brings.

Two independent samples A and B and, for each variable i, A with its column i from B (Saltelli et al. 2010, Comput. Phys. Commun.
181, 259-270). First-order shares by their estimator, (f_AB - f_A) f_B with the mean taken off; total shares by Jansen 1999
(Comput. Phys. Commun. 117, 35-43), (f_AB - f_A)^2 / 2. Both are exactly zero for a variable that changes nothing.
"""

from __future__ import annotations

from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass

import numpy as np
import xarray as xr
from scipy.special import stdtrit

from fencecast.estimate.simulate import REPLICATES
from fencecast.kernels.probe import probe_crossings, scrambled_rows
from fencecast.kernels.work import look_capacity
from fencecast.sampling.sobol import combine_keys, hashed_unit, sobol_table
from fencecast.sampling.variables import SITE_VARIABLES, key64, variable_keys

# The drawn inputs: the site's, and every camera's NETD, bearing, depression and height as one.
INPUTS = (*SITE_VARIABLES, "cameras")
WORDS = {name: name.replace("_", " ") for name in SITE_VARIABLES} | {
    "position": "place within the segment",
    "look_phase": "timing of the looks",
    "visibility": "fog's visibility",
    "drop_radius": "fog's drop size",
    "clo": "clothing insulation",
    "ground_minus_air": "ground minus air",
    "clutter": "ground clutter",
    "rain": "rain rate",
    "snow": "snow rate",
    "wetness": "wetness of clothing",
    "bare_head_share": "bare share of the head",
    "pause": "pause at the line",
    "climb": "time to climb",
    "direction": "in or out",
    "depth_ratio": "depth of the body",
    "cameras": "camera noise and mounting",
}
# Points of each of A and B in one scrambling; 8 scramblings make samples of 512, and (2 + inputs) times as many crossings.
POINTS = 64
_SAMPLE_A, _SAMPLE_B, _ORDER_B = (np.uint64(key64("sensitivity", part)) for part in ("a", "b", "order of b"))


@dataclass(frozen=True)
class Shares:
    """Shares of the variance by variable: value and both ends of the interval, each (variables,); `sd` of the output."""

    first: np.ndarray
    first_low: np.ndarray
    first_high: np.ndarray
    total: np.ndarray
    total_low: np.ndarray
    total_high: np.ndarray
    sd: float


def sobol_shares(f_a: np.ndarray, f_b: np.ndarray, f_ab: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """First-order and total shares, each (variables,), NaN without variance; f_a (n,), f_b (n,), f_ab (variables, n)."""
    both = np.concatenate([f_a, f_b])
    variance = both.var()
    if not variance > 0.0:
        return np.full(len(f_ab), np.nan), np.full(len(f_ab), np.nan)
    change = f_ab - f_a
    return (change * (f_b - both.mean())).mean(axis=1) / variance, 0.5 * (change**2).mean(axis=1) / variance


def shares_with_intervals(f_a: np.ndarray, f_b: np.ndarray, f_ab: np.ndarray, confidence: float) -> Shares:
    """Shares over all scramblings, with intervals by leaving out one scrambling at a time (jackknife, Student's t).

    f_a, f_b (R, n); f_ab (variables, R, n). The points inside one scrambling depend on each other, so only scramblings count as
    independent; a share is a ratio, so its error comes from the whole ratio, and each scrambling alone would have its own bias.
    """
    replicates = len(f_a)
    first, total = sobol_shares(f_a.ravel(), f_b.ravel(), f_ab.reshape(len(f_ab), -1))
    without = []
    for r in range(replicates):
        kept = np.arange(replicates) != r
        without.append(sobol_shares(f_a[kept].ravel(), f_b[kept].ravel(), f_ab[:, kept].reshape(len(f_ab), -1)))
    spread = np.array(without).std(axis=0) * np.sqrt(replicates - 1)  # (first or total, variables)
    half = stdtrit(replicates - 1, 0.5 + 0.5 * confidence) * spread
    sd = float(np.concatenate([f_a.ravel(), f_b.ravel()]).std())
    return Shares(first, first - half[0], first + half[0], total, total - half[1], total + half[1], sd)


def cell_outputs(plan, cells, cell: int, replicate: int, points: int) -> tuple[np.ndarray, np.ndarray, np.ndarray, int]:
    """Pd of the crossings of A (n,), B (n,) and A with one column of B (variables, n) in one scrambling, and the looks rendered.

    A and B are the same Sobol dimensions under different scramblings, B in a hashed order: without it point i of both would share
    the leading bits of every variable, and the two samples would not be independent.
    """
    names = variable_keys()
    stratum = np.uint64(combine_keys(cells.key[cell], np.uint64(replicate)))
    table = sobol_table(1 << max(points - 1, 1).bit_length(), len(SITE_VARIABLES))
    keys = [np.uint64(combine_keys(stratum, sample)) for sample in (_SAMPLE_A, _SAMPLE_B)]
    rows = np.arange(points)
    shuffle = np.uint64(combine_keys(stratum, _ORDER_B))
    orders = [rows, np.argsort([hashed_unit(shuffle, row) for row in range(points)], kind="stable")]
    samples = []
    for key, order in zip(keys, orders):
        units = np.empty((points, len(SITE_VARIABLES)))
        scrambled_rows(table, order, np.array([combine_keys(key, name) for name in names], dtype=np.uint64), units)
        samples.append(units)
    a, b = samples
    capacity = look_capacity(plan)
    looks = 0

    def pd(units: np.ndarray, cameras: np.uint64) -> np.ndarray:
        nonlocal looks
        out = np.empty(points)
        looks += probe_crossings(plan, cells, cell, units, np.full(points, cameras), rows, capacity, out)
        return out

    f_a, f_b = pd(a, keys[0]), pd(b, keys[1])
    f_ab = np.empty((len(INPUTS), points))
    for v in range(len(SITE_VARIABLES)):
        mixed = a.copy()
        mixed[:, v] = b[:, v]
        f_ab[v] = pd(mixed, keys[0])
    f_ab[-1] = pd(a, keys[1])
    return f_a, f_b, f_ab, looks


def cell_shares(plan, cells, which, confidence: float, threads: int = 1, progress=None, points: int = POINTS):
    """Shares of each cell of `which` (indexes into cells), and the looks rendered; the same bits whatever the threads."""
    jobs = [(int(cell), replicate) for cell in which for replicate in range(REPLICATES)]
    crossings = points * (2 + len(INPUTS))
    outputs = []
    with ThreadPoolExecutor(threads) as pool:
        try:
            for done in pool.map(lambda job: cell_outputs(plan, cells, *job, points), jobs):
                outputs.append(done)
                if progress:
                    progress(len(outputs) * crossings, len(jobs) * crossings)
        except BaseException:
            pool.shutdown(wait=True, cancel_futures=True)
            raise
    shares = []
    for k in range(0, len(outputs), REPLICATES):
        f_a, f_b, f_ab = (np.array([output[part] for output in outputs[k : k + REPLICATES]]) for part in range(3))
        shares.append(shares_with_intervals(f_a, f_b, np.swapaxes(f_ab, 0, 1), confidence))
    return shares, sum(output[3] for output in outputs)


def add_shares(results: xr.Dataset, places, shares: list[Shares]) -> None:
    """Store the shares of the named places."""
    results.coords["place"] = np.array([place.code for place in places]).astype(str)
    results.coords["variable"] = np.array(INPUTS)
    results["sensitivity_weather"] = ("place", np.array([place.weather for place in places]).astype(str))
    results["sensitivity_segment"] = ("place", np.array([place.segment for place in places], dtype=np.int64))
    results["sensitivity_sd"] = ("place", np.array([share.sd for share in shares]))
    for name in ("first", "first_low", "first_high", "total", "total_low", "total_high"):
        values = np.array([getattr(share, name) for share in shares])
        results[f"sensitivity_{name}"] = (("place", "variable"), values)


def listed(results, place: int) -> list[int]:
    """Variables (indexes) that change anything in a place, the largest total share first."""
    total = results["sensitivity_total"].values[place]
    return [int(v) for v in np.argsort(-total, kind="stable") if total[v] > 0.0]


@dataclass(frozen=True)
class Drivers:
    """What drives a place, as far as the intervals can tell.

    first: the inputs (indexes) that may have the largest total share, the largest estimate first; then: when that is one input
    alone, the next that have at least half of its share (at most two); known: whether any share has an interval above 0.
    """

    first: tuple[int, ...]
    then: tuple[int, ...]
    known: bool


def drivers(results, place: int) -> Drivers:
    """What may be said of a place: an input leads only when its interval lies above those of all others."""
    order = listed(results, place)
    total, low, high = (results[f"sensitivity_total{end}"].values[place] for end in ("", "_low", "_high"))
    known = [v for v in order if low[v] > 0.0]
    if not known:
        return Drivers((), (), False)
    least = max(low[v] for v in known)
    first = tuple(v for v in order if high[v] >= least)
    then = tuple(v for v in known if v not in first and total[v] >= 0.5 * total[first[0]])[:2] if len(first) == 1 else ()
    return Drivers(first, then, True)


def drivers_words(results, place: int) -> str:
    """The reading of a place: `mostly the drop size, then the gait`, `cannot tell whether the gait or the wind matters most`."""
    if not listed(results, place):
        return "nothing that is drawn: every crossing has the same Pd"
    found = drivers(results, place)
    if not found.known:
        return "cannot tell what drives it: the interval of every share holds 0"
    names = [f"the {WORDS[INPUTS[v]]}" for v in found.first]
    if len(names) > 3:
        return f"cannot tell which of {len(names)} inputs matters most; the largest estimate is {names[0]}"
    if len(names) > 1:
        return f"cannot tell whether {', '.join(names[:-1])} or {names[-1]} matters most"
    words = f"mostly {names[0]}"
    if found.then:
        words += f", then {' and '.join(f'the {WORDS[INPUTS[v]]}' for v in found.then)}"
    leader = found.first[0]
    together = results["sensitivity_first_high"].values[place, leader] < 0.5 * results["sensitivity_total"].values[place, leader]
    return words + (", more in combination than alone" if together else "")
