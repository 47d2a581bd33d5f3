"""Kriging between known points: what it promises, against the textbook's system solved row by row, and against refitting.

Source of the system: N. Cressie, Statistics for Spatial Data (1993), section 3.2, from memory: of all weights that add up to 1,
those of least variance of the error.
"""

import numpy as np
import pytest
from scipy.optimize import minimize

from fencecast.hours.kriging import LENGTH, NUGGET, Kriging, correlation


@pytest.fixture(scope="module")
def places():
    """(known points, all points): 25 and 400 in four columns, some of the 400 as near to each other as hours of one night."""
    rng = np.random.default_rng(3)
    points = rng.random((400, 4)) ** 2
    points[399] = points[398] + 1e-9
    return points[:25], points


def error_variance(weights, alike, among):
    """Of the error of a weighted mean, as a share of all variance."""
    return 1.0 - 2.0 * weights @ alike + weights @ among @ weights


def test_correlation_is_matern():
    """(1 + r) exp(-r), r = sqrt(3) distance / length, typed again. Catches: a length or a root lost."""
    a, b = np.array([[0.0, 0.0], [0.3, 0.4]]), np.array([[0.0, 0.0], [3.0, 4.0]])
    for i, j in np.ndindex(2, 2):
        r = np.sqrt(3.0) * np.hypot(*(a[i] - b[j])) / LENGTH
        assert correlation(a, b)[i, j] == pytest.approx((1.0 + r) * np.exp(-r), rel=1e-7)


def test_weights_have_least_variance(places):
    """Against a search among weights that add up to 1 that knows nothing of the closed form. Catches: a wrong border, a nugget
    that is lost or counted twice."""
    known, points = places
    known = known[:6]
    among = correlation(known, known) + NUGGET * np.eye(6)
    shares, _ = Kriging(known).shares(points[30:34])
    for share, point in zip(shares, points[30:34]):
        alike = correlation(point[None], known)[0]
        found = minimize(
            error_variance,
            np.full(6, 1 / 6),
            (alike, among),
            method="SLSQP",
            options={"ftol": 1e-14, "maxiter": 500},
            constraints={"type": "eq", "fun": lambda w: w.sum() - 1.0},
        )
        assert share == pytest.approx(found.x, abs=2e-4)
        assert error_variance(share, alike, among) <= found.fun + 1e-9


def test_shares_add_up_and_tell_what_is_known(places):
    """A constant comes back exactly, what is known nearly so (all but the nugget), a smooth function far better than from the
    nearest point. Catches: weights that do not add up, columns mixed up, the nearest of another block."""
    known, points = places
    shares, nearest = Kriging(known).shares(points)
    assert shares.sum(axis=1) == pytest.approx(1.0, abs=1e-12)
    assert shares[:25] == pytest.approx(np.eye(25), abs=0.02)
    distance = np.linalg.norm(points[:, None] - known[None], axis=2)
    assert np.array_equal(nearest, distance.argmin(axis=1))
    smooth = np.tanh(points @ [0.5, -1.0, 0.8, 0.3])
    told = np.sqrt(np.mean((shares @ smooth[:25] - smooth) ** 2))
    assert told < 0.6 * np.sqrt(np.mean((smooth[:25][nearest] - smooth) ** 2))


def test_unsure_is_the_root_of_the_errors_variance(places):
    """Of the shares that are given, by the textbook's formula; next to nothing at what is known, and more where all is far.

    Catches: the border lost from it (the mean is not known either), a variance for a standard deviation."""
    known, points = places
    kriging = Kriging(known)
    shares, _ = kriging.shares(points)
    unsure = kriging.unsure(points)
    among = correlation(known, known) + NUGGET * np.eye(25)
    for row in (30, 31, 100, 250, 399):
        expected = error_variance(shares[row], correlation(points[row : row + 1], known)[0], among)
        assert unsure[row] == pytest.approx(np.sqrt(expected), rel=1e-6)
    assert unsure[:25].max() < 2.0 * np.sqrt(NUGGET) < 0.5 * np.median(unsure[25:])
    far = kriging.unsure(np.full((1, 4), 100.0))[0]
    assert far > 1.0  # not even the mean is known


def test_left_out_is_as_if_never_known(places):
    """Each known point told by kriging set up again without it, over the standard deviation it gives (the nugget is in what was
    known too). Catches: a wrong scale, rows for columns, a border that is counted as a point."""
    known, _ = places
    values = np.random.default_rng(5).normal(3.0, 2.0, (25, 2))
    found = Kriging(known).left_out() @ values
    for k in (0, 7, 24):
        keep = np.delete(np.arange(25), k)
        again = Kriging(known[keep])
        told = again.shares(known[k : k + 1])[0] @ values[keep]
        sd = np.sqrt(again.unsure(known[k : k + 1])[0] ** 2 + NUGGET)
        assert found[k] == pytest.approx((values[k] - told[0]) / sd, rel=1e-6)


def test_how_much_values_vary_is_found_again(places):
    """Values drawn with the very correlation and three times the size: 3 comes back, whatever their mean.

    Catches: residuals that depend on the mean, or grow with the number of points."""
    known = places[1][:100]
    root = np.linalg.cholesky(correlation(known, known) + NUGGET * np.eye(100))
    values = 50.0 + 3.0 * root @ np.random.default_rng(6).normal(size=(100, 200))
    found = np.sqrt(np.mean((Kriging(known).left_out() @ values) ** 2))
    assert found == pytest.approx(3.0, rel=0.02)


def test_one_known_point_tells_everything():
    """Catches: a division by nothing."""
    kriging = Kriging(np.array([[0.2, 0.1]]))
    shares, nearest = kriging.shares(np.random.default_rng(0).random((5, 2)))
    assert shares == pytest.approx(np.ones((5, 1))) and not nearest.any()
    assert np.array_equal(kriging.left_out(), [[0.0]])


def test_equal_points_do_no_harm():
    """Two known points in one place. Catches: a matrix that cannot be inverted."""
    kriging = Kriging(np.array([[0.2], [0.2], [0.9]]))
    shares, _ = kriging.shares(np.array([[0.2], [0.5]]))
    assert np.isfinite(shares).all() and np.abs(shares).max() < 1.5
    assert shares[0] == pytest.approx([0.5, 0.5, 0.0], abs=0.01)
