"""Ways across a line, against walkers on a torus."""

from __future__ import annotations

import numpy as np
import pytest

from fencecast.physics.encounters import ways_a_night

SIDE_KM, WALKED_KM, LINE_KM = 20.0, 5.0, 1.0


@pytest.mark.parametrize(("legs", "walkers", "within"), [(1, 480_000, 0.02), (25, 80_000, 0.06)])
def test_straight_walkers_on_a_torus(legs, walkers, within):
    """Catches: pi for its inverse, one sense for both, a formula that goes by how crooked ways are. Walkers start anywhere on a
    torus and walk 5 km, straight or in 25 legs of any heading; crossings of 20 upright lines of 1 km are counted by geometry,
    76,394 and 12,732 expected. Crossings of one walker go together: standard errors 0.55 and 2.1 % (eight seeds), so the limits
    fail one seed in 300 or fewer."""
    rng = np.random.default_rng(11)
    at = rng.uniform(0.0, SIDE_KM, (walkers, 2))
    crossed = 0
    for _ in range(legs):
        heading = rng.uniform(0.0, 2.0 * np.pi, walkers)
        to = at + WALKED_KM / legs * np.column_stack([np.cos(heading), np.sin(heading)])
        # Lines stand at every whole km of x, each on 0 < y < 1 km of the torus; images of a way are cut one line at a time.
        low, high = np.minimum(at[:, 0], to[:, 0]), np.maximum(at[:, 0], to[:, 0])
        for k in range(-6, int(SIDE_KM) + 7):
            there = np.flatnonzero((low < k) & (high >= k))
            share = (k - at[there, 0]) / (to[there, 0] - at[there, 0])
            y = (at[there, 1] + share * (to[there, 1] - at[there, 1])) % SIDE_KM
            crossed += np.count_nonzero(y < LINE_KM)
        at = to % SIDE_KM
    expected = ways_a_night(walkers / SIDE_KM**2, WALKED_KM, 1000.0 * LINE_KM * SIDE_KM)
    assert crossed == pytest.approx(expected, rel=within)


def test_printed_ways_a_night():
    """Catches: metres for kilometres. Cats of a village on 100 m, foxes on 163 m, worked out beforehand."""
    assert ways_a_night(50.0, 2.4, 100.0) == pytest.approx(7.639, abs=5e-4)
    assert ways_a_night(3.0, 9.4, 163.0) == pytest.approx(2.926, abs=5e-4)
