"""Whole crossings of five sites against the slow independent Monte Carlo.

Same draws: the draws of the product's crossings are handed to the independent code as shares of its own distributions, so that
each cell is compared without sampling error. Own draws: the independent code draws for itself, so that a variable drawn from a
wrong distribution, or two that move together, show. Three checks ask for one rule of the model each, in the cells where it
matters, so that a table says which rule is broken.
"""

from __future__ import annotations

import math

import numpy as np

from fencecast.estimate.simulate import advance, new_tally
from fencecast.evidence import slow
from fencecast.evidence.check import Check, outside, with_version
from fencecast.evidence.independent.estimate import one_crossing
from fencecast.kernels.crossing import SUM_CAMERA, SUM_PD, run_jobs
from fencecast.kernels.pack import pack_cells, pack_plan, watched_sections
from fencecast.kernels.work import MAX_LOOKS
from fencecast.sampling.sobol import combine_keys, hashed_unit, owen_scramble, sobol_table, to_unit
from fencecast.sampling.variables import CAMERA_VARIABLES, SITE_VARIABLES, camera_keys, variable_keys
from fencecast.site import load_site

POINTS = 4  # crossings of each cell, same draws
OWN_POINTS = 1024  # points of each scrambling of the product, own draws
# A difference of this many standard errors in the mean of the cells fails.
LIMIT_SE = 4.0
SEEN = 0.02
# (site, weather class, section, from_m to to_m along it): where one rule of the model decides.
RULE_POINTS = 8  # crossings of each of these cells
CORNERS = (
    ("hook-yard", "clear night", "base", 0.0, 7.0),  # an acute corner, angles in steps
    ("hook-yard", "clear night", "slope", 14.0, 20.0),
    ("hook-yard", "clear night", "base", 15.0, 24.0),  # a T
    ("notch-dock", "clear night", "dock", 18.0, 28.0),  # a ring, and another section that joins it
    ("notch-dock", "clear night", "dock", 36.0, 50.0),
)
POSTS = (("hook-yard", "clear night", "base", 3.0, 16.0), ("notch-dock", "warm evening", "dock", 0.0, 15.0))
FENCES = (("notch-dock", "warm evening", "dock", 12.0, 24.0), ("notch-dock", "clear night", "dock", 12.0, 24.0))

# The product's variables by the names of the independent code.
_NAMES = {
    "air_temperature_c": "air_temperature", "wind_m_s": "wind", "visibility_m": "visibility", "rain_mm_h": "rain",
    "snow_mm_h": "snow", "ground_minus_air_k": "ground_minus_air", "clutter_k": "clutter", "drop_radius_um": "drop_radius",
    "stature_m": "stature", "approach_angle_deg": "approach_angle", "turn_deg": "turn", "pause_s": "pause", "climb_s": "climb",
    "speed_m_s": "speed",
}  # fmt: skip


def drawn_shares(cell_key, marks, point: int, points: int):
    """The draws of one crossing of the product as a function for the independent code: (name, camera's mark) -> share."""
    stratum = np.uint64(combine_keys(np.uint64(cell_key), np.uint64(0)))
    site = {}
    for fraction, name, key in zip(sobol_table(points, len(SITE_VARIABLES))[point], SITE_VARIABLES, variable_keys()):
        site[name] = to_unit(np.uint64(owen_scramble(np.uint32(fraction), np.uint64(combine_keys(stratum, key)))))
    draw, keys = np.uint64(combine_keys(stratum, np.uint64(point))), camera_keys(tuple(marks))
    camera = {
        (name, mark): hashed_unit(keys[row, column], draw)
        for row, mark in enumerate(marks)
        for column, name in enumerate(CAMERA_VARIABLES)
    }

    def share(name, mark=None):
        if mark is not None:
            return camera[name, mark]
        if name == "direction":  # low shares run inwards here, outwards in the independent code
            return 1.0 - site["direction"]
        return site[_NAMES.get(name, name)]

    return share


def _product(site, cells, points: int) -> np.ndarray:
    """Pd of single crossings, (cells, points)."""
    cell = np.repeat(cells, points).astype(np.int64)
    first = np.tile(np.arange(points, dtype=np.int64), len(cells))
    sums = np.zeros((len(cell), SUM_CAMERA + len(site.camera)))
    table = sobol_table(points, len(SITE_VARIABLES))
    strata = pack_cells(site, site.seed)
    run_jobs(pack_plan(site), strata, variable_keys(), table, cell, 0 * cell, first, first + 1, 1.0, MAX_LOOKS, sums)
    return sums[:, SUM_PD].reshape(len(cells), points)


def _independent(name: str, site, cells, points: int) -> np.ndarray:
    """The same crossings by the independent code."""
    apart, scene = slow.slow_site(name)
    keys, marks = pack_cells(site, site.seed).key, [camera.mark for camera in site.camera]
    weathers, segments = list(apart.weather), len(apart.segments)
    found = [
        one_crossing(
            apart, scene, apart.weather[weathers[cell // segments]], apart.segments[cell % segments],
            drawn_shares(keys[cell], marks, point, points),
        )["pd"]
        for cell in cells
        for point in range(points)
    ]  # fmt: skip
    return np.reshape(found, (len(cells), points))


def same_draws() -> Check:
    """Catches any slip in the air, surfaces, body, picture, noise, look, path, rules, chain, or combination of cameras."""
    worst, count, single, total = 0.0, 0, 0.0, 0.0
    for name in slow.SITES:
        site = load_site(slow.site_file(name))
        strata = pack_cells(site, site.seed)
        cells = np.flatnonzero(watched_sections(site)[strata.section])
        difference = _product(site, cells, POINTS) - _independent(name, site, cells, POINTS)
        worst = max(worst, float(np.abs(difference.mean(axis=1)).max()))
        single = max(single, float(np.abs(difference).max()))
        total += float(difference.sum())
        count += difference.size
    return Check(
        "same_draws",
        f"Pd of every cell of {len(slow.SITES)} sites, {POINTS} crossings each, same draws",
        worst,
        "of 1",
        0.01,
        f"two makings of the fog table (0.006), joined looks of long stays; no chance in it: {SEEN} in any one cell always shows",
        "slow independent Monte Carlo of the same model (NumPy, 64 bit, no shared code)",
        count,
        note=f"worst crossing {single:.4f}, mean {total / count:+.5f}",
    )


def _cells_between(site, apart, weather: str, section: str, low: float, high: float) -> np.ndarray:
    """Numbers of the cells of one class whose segments lie between two metres of a section."""
    first = [w.name for w in site.weather].index(weather) * len(apart.segments)
    return first + np.array(
        [
            k
            for k, (of, start, end) in enumerate(apart.segments)
            if of.name == section and start >= low - 1e-6 and end <= high + 1.0
        ]
    )


def _one_rule(name: str, quantity: str, places) -> Check:
    """Every crossing of the cells where one rule decides, same draws; the worst cell counts."""
    worst, count, single = 0.0, 0, 0.0
    for site_name, *place in places:
        site, (apart, _) = load_site(slow.site_file(site_name)), slow.slow_site(site_name)
        cells = _cells_between(site, apart, *place)
        difference = _product(site, cells, RULE_POINTS) - _independent(site_name, site, cells, RULE_POINTS)
        worst = max(worst, float(np.abs(difference.mean(axis=1)).max()))
        single = max(single, float(np.abs(difference).max()))
        count += difference.size
    return Check(
        name,
        f"{quantity}: Pd of each cell, {RULE_POINTS} crossings each, same draws",
        worst,
        "of 1",
        0.01,
        "as same_draws: two makings of the fog table, joined looks of long stays; no chance in it",
        "slow independent Monte Carlo of the same model (NumPy, 64 bit, no shared code)",
        count,
        note=f"worst crossing {single:.4f}",
    )


def ends_inside() -> Check:
    """Catches paths near corners that leave over the neighbouring section before they are deep inside."""
    return _one_rule("ends_inside", "Acute corners, a T, a ring that another section joins", CORNERS)


def one_post() -> Check:
    """Catches cameras on one mast that are counted as independent eyes, and posts linked by more than 2 m."""
    return _one_rule("one_post", "Places seen by two or three cameras of one post", POSTS)


def fence_hides() -> Check:
    """Catches a seen share that counts what a fence has taken, and a fence that does not weaken what passes."""
    return _one_rule("fence_hides", "Bodies behind a palisade of open share 0.05", FENCES)


def own_draws() -> Check:
    """Catches a distribution drawn wrongly (clipped for truncated, a wrong sd, shares of gaits), variables that move together."""
    means = slow.means()
    difference, variance = [], []
    for k, (name, weather, segment) in enumerate(slow.CELLS):
        site = load_site(slow.site_file(name))
        cells = pack_cells(site, site.seed)
        per_class = len(cells.weather) // len(site.weather)
        cell = [w.name for w in site.weather].index(weather) * per_class + segment
        tally = new_tally(len(cells.weather), len(site.camera))
        advance(pack_plan(site), cells, tally, np.array([cell]), OWN_POINTS, threads=1)
        difference.append(tally.mean(SUM_PD)[cell] - means[k].mean())
        variance.append(means[k].var(ddof=1) / slow.SCRAMBLINGS + tally.se()[cell] ** 2)
    mean, se = float(np.mean(difference)), math.sqrt(sum(variance)) / len(variance)
    stats = outside("scipy.stats")
    freedom = len(variance) * (slow.SCRAMBLINGS - 1)
    false_alarms = 2.0 * stats.t.sf(LIMIT_SE, freedom)
    power = float(stats.norm.sf(LIMIT_SE - SEEN / se))
    return Check(
        "own_draws",
        f"Mean Pd of {len(slow.CELLS)} cells, each code on draws of its own",
        abs(mean) / se if power > 0.95 else math.inf,
        "standard errors",
        LIMIT_SE,
        f"false alarms {false_alarms:.0e} on a fresh seed; an error of {SEEN} is seen with a chance of {power:.3f}",
        f"slow independent Monte Carlo, scipy's Sobol points ({with_version('scipy')})",
        slow.SCRAMBLINGS * slow.POINTS * len(slow.CELLS),
        note=f"difference {mean:+.4f} ± {se:.4f}",
    )


CHECKS = (same_draws, ends_inside, one_post, fence_hides, own_draws)
