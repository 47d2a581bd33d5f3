"""Shares of variance: the estimators against known functions and a library, the samples and the wiring against the kernel."""

import numpy as np
import pytest
from scipy.stats import norm, qmc, sobol_indices

from fencecast.estimate import sensitivity
from fencecast.estimate.sensitivity import INPUTS, cell_outputs, cell_shares, shares_with_intervals, sobol_shares
from fencecast.kernels.pack import pack_cells, pack_plan
from fencecast.sampling.sobol import hashed_unit
from fencecast.sampling.variables import DIMENSION
from fencecast.site import parse_site

SITE = """\
schema = 2
title = "One fence"
seed = 7

[site]
ground = "grass"
segment_length_m = 40.0

[[perimeter]]
name = "fence"
points_m = [[0.0, 0.0], [40.0, 0.0]]
inside = "left"

[sensors.core]
columns = 160
rows = 120
pitch_um = 17.0
netd_mk = 50.0

[lenses.wide]
focal_length_mm = 3.0
f_number = 1.0

[[camera]]
mark = "C1"
position_m = [0.0, 2.0]
height_m = 4.0
aim_m = [16.0, 2.0]
sensor = "core"
lens = "wide"

[[rule]]
kind = "line"
perimeter = "fence"

[[weather]]
name = "haze"
hours_per_year = 3000
air_temperature_c = 15.0
relative_humidity = 0.75
ground_minus_air_k = { dist = "uniform", low = -3.0, high = 12.0 }
"""


@pytest.fixture(scope="module")
def packed():
    site = parse_site(SITE)
    return pack_plan(site, site.weather), pack_cells(site, 7, site.weather, purpose="sensitivity")


def ishigami(x):
    """x (3, n); Ishigami & Homma 1990 with a = 7, b = 0.1."""
    return np.sin(x[0]) + 7.0 * np.sin(x[1]) ** 2 + 0.1 * x[2] ** 4 * np.sin(x[0])


def swapped(a, b, function):
    """Outputs of A, B and A with one row of B, for points (variables, n)."""
    mixed = []
    for v in range(len(a)):
        each = a.copy()
        each[v] = b[v]
        mixed.append(function(each))
    return function(a), function(b), np.array(mixed)


def test_estimators_give_the_closed_form_of_a_known_function():
    """Catches: first and total exchanged, a missing half. Closed form of the variance parts by hand (Ishigami & Homma 1990)."""
    a7, b = 7.0, 0.1
    alone = [0.5 * (1 + b * np.pi**4 / 5) ** 2, a7**2 / 8, 0.0]
    together = b**2 * np.pi**8 * 8 / 225
    variance = sum(alone) + together
    points = (2 * qmc.Sobol(6, seed=1).random(2**15).T - 1) * np.pi
    first, total = sobol_shares(*swapped(points[:3], points[3:], ishigami))
    assert first == pytest.approx(np.array(alone) / variance, abs=0.01)
    assert total == pytest.approx([(alone[0] + together) / variance, alone[1] / variance, together / variance], abs=0.01)


def test_estimators_are_those_of_a_library():
    """Catches: a mean not taken off, a variance of A alone. scipy.stats.sobol_indices from the same outputs."""
    rng = np.random.default_rng(3)
    f_a, f_b, f_ab = swapped(*rng.uniform(-np.pi, np.pi, (2, 3, 512)), ishigami)
    theirs = sobol_indices(func={"f_A": f_a[None], "f_B": f_b[None], "f_AB": f_ab[:, None]}, n=512)
    first, total = sobol_shares(f_a, f_b, f_ab)
    assert first == pytest.approx(theirs.first_order, rel=1e-9)
    assert total == pytest.approx(theirs.total_order, rel=1e-9)


def test_intervals_contain_the_truth_as_often_as_they_say():
    """Catches: an error over points instead of scramblings, a forgotten root. Y = 2 X1 + X2, shares 0.8 and 0.2, 400 repetitions;
    0.917 is 95 % less three standard errors of a share over 400."""
    rng = np.random.default_rng(5)
    inside, width, found = np.zeros(4), np.zeros(4), []
    for _ in range(400):
        a, b = norm.ppf(rng.random((2, 2, 8, 64)))
        s = shares_with_intervals(*swapped(a, b, lambda x: 2.0 * x[0] + x[1]), 0.95)
        low, high = np.concatenate([s.first_low, s.total_low]), np.concatenate([s.first_high, s.total_high])
        truth = np.array([0.8, 0.2, 0.8, 0.2])
        inside += (low <= truth) & (truth <= high)
        width += (high - low) / 400
        found.append(np.concatenate([s.first, s.total]))
    assert np.all(inside / 400 >= 0.917)
    # An interval that is always right may be useless: 2 t sigma, t of 7 degrees of freedom 2.36, and a tenth for its scatter.
    assert np.all(width <= 1.1 * 2 * 2.36 * np.std(found, axis=0))


def shares_of(packed, monkeypatch, function):
    """Shares when the crossing is replaced by function(units, uniform number of the row's cameras)."""

    def probe(plan, cells, cell, units, keys, points, max_looks, out):
        out[:] = function(units, np.array([hashed_unit(key, point) for key, point in zip(keys[:, 0], points)]))
        return 0

    monkeypatch.setattr(sensitivity, "probe_crossings", probe)
    return cell_shares(*packed, [0], 0.95)[0][0]


@pytest.mark.slow
def test_two_independent_inputs_share_the_variance(packed, monkeypatch):
    """Catches: columns exchanged; A and B not independent (B in A's order shares its leading bits and moves the shares);
    2 u + w has shares 0.8 and 0.2. Bound: 4.5 standard errors of a correlation over 512 points."""
    s = shares_of(packed, monkeypatch, lambda u, cameras: 2.0 * u[:, DIMENSION["clo"]] + u[:, DIMENSION["wind"]])
    expected = np.zeros(len(INPUTS))
    expected[[DIMENSION["clo"], DIMENSION["wind"]]] = 0.8, 0.2
    assert s.first == pytest.approx(expected, abs=4.5 / np.sqrt(512))
    assert s.total == pytest.approx(expected, abs=4.5 / np.sqrt(512))
    assert np.all(s.total[expected == 0.0] == 0.0) and np.all(s.first[expected == 0.0] == 0.0)


@pytest.mark.slow
def test_cameras_are_one_input(packed, monkeypatch):
    """Catches: cameras' hashed draws keyed alike in A and B (their share would be zero), or new ones in every sample (then
    everything else would be blamed for their noise)."""
    s = shares_of(packed, monkeypatch, lambda u, cameras: u[:, DIMENSION["clo"]] + cameras)
    assert INPUTS[-1] == "cameras"
    assert [s.total[DIMENSION["clo"]], s.total[-1]] == pytest.approx([0.5, 0.5], abs=4.5 / np.sqrt(512))
    assert np.count_nonzero(s.total) == 2


@pytest.mark.slow
def test_in_a_and_b_each_stratum_is_hit_once(packed, monkeypatch):
    """Catches: draws that are no scrambled Sobol points: of 64 points each of 64 equal parts of (0, 1) holds one, in A and B."""
    seen = []
    monkeypatch.setattr(sensitivity, "probe_crossings", lambda *a: seen.append(a[3].copy()) or a[-1].fill(0.0) or 0)
    cell_outputs(*packed, 0, 0, 64)
    for units in seen[:2]:
        assert np.all(np.sort(np.floor(units * 64), axis=0) == np.arange(64)[:, None])
    assert not np.any(seen[0] == seen[1])


@pytest.mark.slow
def test_the_only_input_that_varies_brings_everything(packed, monkeypatch):
    """Catches: draws that miss their place in the real crossing; shares for inputs that the crossing does not use. All draws
    but the ground's temperature are held at their middle."""
    real = sensitivity.scrambled_rows

    def one_varies(table, order, keys, units):
        real(table, order, keys, units)
        kept = units[:, DIMENSION["ground_minus_air"]].copy()
        units[:] = 0.5
        units[:, DIMENSION["ground_minus_air"]] = kept

    plan, cells = packed
    quiet = plan._replace(cameras=plan.cameras._replace(netd_spread=np.zeros(1), tolerance=np.zeros((1, 3))))
    monkeypatch.setattr(sensitivity, "scrambled_rows", one_varies)
    s = cell_shares(quiet, cells, [0], 0.95)[0][0]
    expected = np.zeros(len(INPUTS))
    expected[DIMENSION["ground_minus_air"]] = 1.0
    assert s.sd > 0.01
    assert np.flatnonzero(s.total).tolist() == np.flatnonzero(s.first).tolist() == [DIMENSION["ground_minus_air"]]
    assert s.first == pytest.approx(expected, abs=4.5 / np.sqrt(512))
    assert s.total == pytest.approx(expected, abs=4.5 / np.sqrt(512))


@pytest.mark.slow
def test_what_the_site_fixes_gets_exactly_zero(packed):
    """Catches: noise printed as a share. This site fixes air, humidity and rain; the ground's temperature and gaits vary."""
    s = cell_shares(*packed, [0], 0.95)[0][0]
    fixed = [DIMENSION[name] for name in ("air_temperature", "relative_humidity", "visibility", "rain", "snow", "depth_ratio")]
    assert np.all(s.total[fixed] == 0.0) and np.all(s.first[fixed] == 0.0) and np.all(s.total_high[fixed] == 0.0)
    assert s.total[DIMENSION["ground_minus_air"]] > 0.0 and s.total[DIMENSION["gait"]] > 0.0


@pytest.mark.slow
def test_probed_crossings_are_the_crossings_of_a_run(packed):
    """Catches: a probe that draws other values than the run for the same numbers: mean Pd of A and B against the plain run."""
    from fencecast.estimate.simulate import advance, new_tally

    plan, cells = packed
    tally = new_tally(1, 1)
    advance(plan, cells, tally, np.zeros(1, dtype=np.int64), 512, 1)
    parts = [cell_outputs(plan, cells, 0, replicate, 256)[:2] for replicate in range(8)]
    means = np.array(parts).mean(axis=(1, 2))
    error = np.hypot(means.std(ddof=1) / np.sqrt(8), tally.se()[0])
    assert 0.05 < tally.mean(0)[0] < 0.99
    assert means.mean() == pytest.approx(tally.mean(0)[0], abs=4.5 * error)


@pytest.mark.slow
def test_any_number_of_threads_gives_the_same_bits(packed):
    """Catches: answers that depend on who is first."""
    one, three = (cell_shares(*packed, [0], 0.95, threads, points=16)[0][0] for threads in (1, 3))
    for name in ("first", "first_low", "first_high", "total", "total_low", "total_high"):
        assert np.array_equal(getattr(one, name), getattr(three, name)), name
