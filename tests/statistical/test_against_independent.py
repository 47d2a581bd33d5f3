"""The product against the slow independent Monte Carlo, on six sites that use most keys of the site file.

This is the main check of sections 1 to 10 of the model. It has two halves.

Same crossings. The draws of the product's crossings are handed to the independent code as shares of its own distributions, and
every crossing is compared by itself: every cell of the five sites and of the worked case, no sampling error, no false alarms.
A defect of 0.01 in one crossing of one cell shows. The bounds come from the two places where the codes are allowed to differ:
the tables of the fog ratio (0.6 % of the extinction, up to 0.008 in a crossing) and stays in a area longer than 48 looks, whose
steps in N_th the product joins (0.1 m and 0.1 s in the few who creep through a field).

Own crossings. The draws themselves are the product's in the first half; here the independent code is fed by scipy's Sobol
sequence and ordinary random numbers instead. Eight scramblings of 16 points in each of six cells: standard errors up to 0.016 in
a cell and 0.004 in the mean of all, so that a shift of 0.02 in all of them is seen with a chance above one half. Six comparisons
at 6 standard errors of Student's t with 7 degrees of freedom plus 0.003 (0.05 % each) and one of the mean at 4 (less than 0.1 %):
false alarms 0.5 % on a fresh seed. Sharper on the same question: the shares that the product draws are uniform (Kolmogorov and
Smirnov, 2000 strata, 24 variables, p > 1e-6) and unrelated (276 pairs, |r| < 5.2 / sqrt(n)): false alarms 1e-4. All seeds fixed.
"""

import numpy as np
import pytest
from independent.estimate import one_crossing
from independent.scene import Scene
from scipy import stats
from scipy.stats import qmc

import fencecast as fc
from fencecast.estimate.simulate import advance, new_tally
from fencecast.kernels.crossing import SUM_PD
from fencecast.kernels.pack import pack_cells, pack_plan
from fencecast.sampling.variables import SITE_VARIABLES, stratum_key
from independent import read_site
from statistical.trial import DATA, ROWS, crossings, drawn_shares

NAMES = ("walled-yard", "thaw-line", "roof-corner", "hook-yard", "notch-dock", "leaning-line")
SITES = {name: DATA / "sites" / f"{name}.toml" for name in NAMES}
SITES["worked-case"] = DATA / "worked-case" / "site.toml"
POINTS = 8  # crossings of every cell

# Names of the product's variables by those of the independent code.
PRODUCT_NAMES = {
    "air_temperature_c": "air_temperature",
    "wind_m_s": "wind",
    "visibility_m": "visibility",
    "rain_mm_h": "rain",
    "snow_mm_h": "snow",
    "ground_minus_air_k": "ground_minus_air",
    "clutter_k": "clutter",
    "drop_radius_um": "drop_radius",
    "stature_m": "stature",
    "approach_angle_deg": "approach_angle",
    "turn_deg": "turn",
    "pause_s": "pause",
    "climb_s": "climb",
    "speed_m_s": "speed",
}


def same_draws(site_shares, camera_shares):
    def share(name, mark=None):
        if mark is not None:
            return camera_shares[name, mark]
        if name == "direction":  # low shares run inwards in the product, outwards in the independent code
            return 1.0 - site_shares["direction"]
        return site_shares[PRODUCT_NAMES.get(name, name)]

    return share


@pytest.fixture(scope="module", params=SITES)
def pairs(request):
    """(product, independent): arrays (crossings, quantities), quantities being ROWS and then the cameras' own Pd."""
    site, slow = fc.load_site(SITES[request.param]), read_site(SITES[request.param])
    scene, strata = Scene(slow), pack_cells(site, site.seed)
    marks = [camera.mark for camera in slow.cameras]
    segments, weathers = len(slow.segments), list(slow.weather)
    watched = [any(segment[0].name in rule.watches for rule in slow.rules) for segment in slow.segments]
    cells = [cell for cell in range(segments * len(weathers)) if watched[cell % segments]]
    product = crossings(site, POINTS, cells=cells)
    expected = []
    for cell in cells:
        for point in range(POINTS):
            share = same_draws(*drawn_shares(strata.key[cell], marks, point))
            found = one_crossing(slow, scene, slow.weather[weathers[cell // segments]], slow.segments[cell % segments], share)
            rungs = [found[key] for key in ("pd", "V", "R", "B", "depth", "delay")]
            expected.append(rungs + [found["camera"][mark] for mark in marks])
    named = np.concatenate([[getattr(product, name) for name in ROWS], [product.camera(mark) for mark in marks]])
    return named.reshape(len(named), -1).T, np.array(expected)


def test_the_same_crossings_are_in_view(pairs):
    """Exact: geometry, line of sight, the frame, the path and its windows have no tolerance. Catches any slip in those."""
    product, independent = pairs
    assert np.array_equal(product[:, 1] > 0.5, independent[:, 1] > 0.5)


def test_the_same_crossings_have_the_same_probabilities(pairs):
    """Pd, the rungs and each camera alone, crossing by crossing.

    Catches any slip in the air, surfaces, body, picture, noise, look, chain, integration over N_th, combination of cameras.
    """
    product, independent = pairs
    difference = np.delete(product - independent, (1, 4, 5), axis=1)
    assert np.abs(difference).max() < 0.01
    assert np.mean(np.abs(difference) > 0.002) < 0.1
    assert np.abs(difference.mean(axis=0)).max() < 5e-4


def test_the_same_crossings_have_the_same_depth_and_delay(pairs):
    """Mean depth [m] and delay [s] of each crossing, weighted by its chance of an alarm.

    Catches alarm times of one rule given to cameras that do not listen to it, and a depth along a wrong normal.
    Where windows of two rules overlap on one camera, or two cameras alarm at the same look by different rules, the model does
    not say which line the depth counts from, and the codes differ: 7 of 2432 crossings of the roof corner, none of these.
    """
    product, independent = pairs
    difference = product[:, 4:6] - independent[:, 4:6]
    assert np.abs(difference).max() < 0.2
    assert np.abs(difference.mean(axis=0)).max() < 1e-3


def own_draws(names, points, rng):
    """`points` crossings' shares: (site variables by scipy's Sobol sequence, camera variables by ordinary random numbers)."""
    table = qmc.Sobol(len(names), scramble=True, rng=rng).random(points)
    column = {name: k for k, name in enumerate(names)}
    for row in table:
        yield lambda name, mark=None, row=row: rng.random() if mark is not None else row[column[name]]


# Gaits, directions, climbs, fields, rain, snow and mounting errors in turn; Pd neither 0 nor 1.
OWN_CELLS = [
    ("walled-yard", "clear night", 20),
    ("thaw-line", "dry snow", 6),
    ("thaw-line", "heavy rain", 3),
    ("thaw-line", "thaw fog", 5),
    ("roof-corner", "mild night", 1),
    ("roof-corner", "snow squall", 8),
]
SCRAMBLINGS, POINTS_EACH = 8, 16


def test_pd_with_crossings_of_its_own():
    """Catches a distribution drawn wrongly (clipped for truncated, a wrong sd, shares of gaits), variables that move together."""
    difference, errors = [], []
    for name, weather, segment in OWN_CELLS:
        slow, site = read_site(SITES[name]), fc.load_site(SITES[name])
        cell = list(slow.weather).index(weather) * len(slow.segments) + segment
        tally = new_tally(len(slow.weather) * len(slow.segments), len(slow.cameras))
        advance(pack_plan(site), pack_cells(site, site.seed), tally, np.array([cell]), 512, threads=1)
        scene, rng = Scene(slow), np.random.default_rng([31, cell])
        person = [*slow.intruder["draws"], "clo", "climb_s", "speed_m_s", "gait", "position", "direction", "look_phase"]
        names = [*slow.weather[weather]["draws"], *person]
        means = [
            np.mean(
                [
                    one_crossing(slow, scene, slow.weather[weather], slow.segments[segment], share)["pd"]
                    for share in own_draws(names, POINTS_EACH, rng)
                ]
            )
            for _ in range(SCRAMBLINGS)
        ]
        difference.append(tally.mean(SUM_PD)[cell] - np.mean(means))
        errors.append(np.hypot(np.std(means, ddof=1) / np.sqrt(SCRAMBLINGS), tally.se()[cell]))
    difference, errors = np.array(difference), np.array(errors)
    assert np.all(np.abs(difference) < 6.0 * errors + 0.003), (difference, errors)
    assert np.sqrt(np.mean(errors**2)) < 0.02  # else the test could not see what it says it sees
    assert abs(difference.mean()) < 4.0 * np.sqrt(np.sum(errors**2)) / len(errors) + 0.001


def test_the_draws_are_uniform_and_unrelated():
    """One crossing of each of 2000 strata: all that the first half of this file takes from the product. Catches two variables on
    one key, a scramble that leaves a part of (0, 1) out, per-camera draws that follow each other."""
    shares = []
    for stratum in range(2000):
        site, camera = drawn_shares(stratum_key(stratum // 500, "fence", stratum % 500, "night"), ["W", "E"], stratum % 64)
        shares.append([*site.values(), *camera.values()])
    shares = np.array(shares)
    assert shares.shape == (2000, len(SITE_VARIABLES) + 8)
    assert np.all((shares > 0.0) & (shares < 1.0))
    for column in shares.T:
        assert stats.kstest(column, "uniform").pvalue > 1e-6
    related = np.corrcoef(shares.T)
    related = np.abs(related - np.eye(len(related)))
    assert related.max() < 5.2 / np.sqrt(2000)


def test_a_cell_is_filled_evenly():
    """16 points of one scrambling lie one in each sixteenth of every site variable: what makes few crossings enough. Catches a
    scramble that hashes the whole number, and a table of directions with a wrong row."""
    key = stratum_key(3, "fence", 4, "night")
    points = np.array([list(drawn_shares(key, ["W"], point)[0].values()) for point in range(16)])
    assert np.array_equal(np.sort(np.floor(points * 16.0), axis=0), np.tile(np.arange(16.0)[:, None], (1, len(SITE_VARIABLES))))
