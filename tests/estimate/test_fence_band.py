"""The mean over a fence whose places differ: places' shifts cancel in ln N50 and not in Pd. Invented cameras of one look."""

from __future__ import annotations

import math

import numpy as np
import pytest

from estimate.calibrated_sites import MEDIAN, calibrated_site
from fencecast.estimate.posterior import Posterior, ends

GRID = math.log(MEDIAN) + np.linspace(-1.1, 1.1, 25)
SPREADS = (0.0, 0.1, 0.2, 0.35, 0.5)
CHANCES = np.array([0.1, 0.25, 0.35, 0.2, 0.1])
SURE, DRAWS, PLACES = 0.08, 4000, 30


def one_look(ratio):
    """Chance of an alarm from one look at N*/N50: the law of resolution."""
    strength = 2.7 + 0.7 * ratio
    return ratio**strength / (1.0 + ratio**strength)


def normal(spread: float) -> np.ndarray:
    if spread <= 0.0:
        return (np.arange(25) == 12).astype(float)
    weight = np.exp(-0.5 * ((GRID - GRID[12]) / spread) ** 2)
    return weight / weight.sum()


def posterior(place: np.ndarray, sure: float = SURE, **more) -> Posterior:
    """ln N50 within `sure`, no correlation, and these weights at a place that nobody walked."""
    weight = np.outer(normal(sure), (1.0, 0.0, 0.0, 0.0)).tolist()
    site = calibrated_site(ln_cycles_50=GRID.tolist(), weight=weight, weight_place=place.tolist(), mean_r=0.0, **more)
    return Posterior.of(site.calibration)


def asked(known: Posterior, ratio) -> np.ndarray:
    """Pd at the points, of cameras at these ratios N*/N50 at the median: (..., POINTS, 4)."""
    at = np.asarray(ratio)[..., None] * MEDIAN / np.exp(known.nodes)
    return np.repeat(one_look(at)[..., None], 4, axis=-1)


@pytest.mark.parametrize(("spread", "pd"), [(0.0, 0.945), (0.15, 0.934), (0.3, 0.904)])
def test_pd_falls_with_how_much_places_differ(spread, pd):
    """Against integrals done apart. Catches: a mean over N50 of the walks, without a place's own shift."""
    known = posterior(normal(spread), sure=0.0)
    mine = asked(known, 2.0)
    assert known.mean(mine) == pytest.approx(pd, abs=1.5e-3)
    assert known.mean_alone(mine[:, 0]) == pytest.approx(known.mean(mine), abs=1e-12)
    # The mean of very many such places is known to the last digit here, and is the same.
    low, high = known.mean_ends(known.table(mine, fine=True), 0.95)
    assert low == pytest.approx(high, abs=1e-12) and low == pytest.approx(known.mean(mine), abs=1e-3)


@pytest.mark.parametrize("ratio", [1.0, 1.5, 2.0])
@pytest.mark.parametrize("spread", [0.15, 0.3, None])
def test_the_mean_of_thirty_places_lies_in_its_interval(ratio, spread):
    """Fences drawn as the walks left them open: 30 places, each with a shift. None: how much places differ is open as well.
    Catches: shifts left out of the mean (65 % held at a ratio of 2 and 0.3), what thirty shifts leave of themselves (88 %)."""
    rng = np.random.default_rng(8)
    if spread is None:
        place = sum(chance * normal(math.hypot(SURE, tau)) for chance, tau in zip(CHANCES, SPREADS))
        known = posterior(place, place_spreads=list(SPREADS), weight_spread=CHANCES.tolist())
        tau = rng.choice(SPREADS, size=DRAWS, p=CHANCES)
    else:
        known, tau = posterior(normal(math.hypot(SURE, spread))), np.full(DRAWS, spread)
    ratios = ratio * np.exp(np.linspace(-0.1, 0.1, PLACES))
    moved = SURE * rng.standard_normal(DRAWS)[:, None] + tau[:, None] * rng.standard_normal((DRAWS, PLACES))
    truth = one_look(ratios * np.exp(-moved))
    tables = known.table(asked(known, ratios), fine=True)
    low, high = known.fence_ends(tables, np.full(PLACES, 1.0 / PLACES), 0.95)
    fences = truth.mean(axis=1)
    assert 0.935 < ((fences >= low) & (fences <= high)).mean() < 0.97
    assert known.mean(asked(known, ratios)).mean() == pytest.approx(fences.mean(), abs=4e-3)
    ends_of = known.place_ends(tables, 0.95)
    assert 0.93 < ((truth >= ends_of[0]) & (truth <= ends_of[1])).mean() < 0.97
    alike = ends(np.einsum("sik->ik", tables).ravel() / PLACES, known.fine_weight.ravel(), 0.95)
    if (spread, ratio) == (0.3, 2.0):
        assert ((fences >= alike[0]) & (fences <= alike[1])).mean() < 0.8


def test_a_fence_of_one_place_is_that_place():
    """Catches: a fence that is better known than the only place in it."""
    known = posterior(normal(math.hypot(SURE, 0.2)))
    tables = known.table(asked(known, [1.5]), fine=True)
    alone, fence = known.place_ends(tables, 0.95), known.fence_ends(tables, np.ones(1), 0.95)
    assert [float(each[0]) for each in alone] == pytest.approx(list(fence), abs=0.025)
    many = known.table(asked(known, np.full(400, 1.5)), fine=True)
    wide, limit = known.fence_ends(many, np.full(400, 1 / 400), 0.95), known.mean_ends(tables, 0.95)
    assert list(wide) == pytest.approx([float(each[0]) for each in limit], abs=5e-3)


def test_all_weight_on_one_value_is_that_value():
    """Catches: an interval made of nothing where nothing is open."""
    known = posterior(normal(0.0), sure=0.0)
    tables = known.table(asked(known, [1.3, 1.8]), fine=True)
    expected = float(one_look(np.array([1.3, 1.8])).mean())
    assert known.fence_ends(tables, np.full(2, 0.5), 0.95) == pytest.approx((expected, expected), abs=1e-6)
    assert known.shift.shape[0] == 1 and known.shift[0] == pytest.approx(np.eye(97), abs=1e-12)


def test_the_place_keeps_how_correlation_goes_with_n50():
    """Catches: a place's N50 and correlation taken to be independent where the walks tied them."""
    weight = np.zeros((25, 4))
    weight[:12, 0], weight[12:, 3] = normal(0.1)[:12], normal(0.1)[12:]
    weight /= weight.sum()
    site = calibrated_site(ln_cycles_50=GRID.tolist(), weight=weight.tolist(), weight_place=normal(0.15).tolist(), mean_r=0.45)
    known = Posterior.of(site.calibration)
    assert known.place.sum(axis=1) == pytest.approx(normal(0.15), abs=1e-9)
    low, high = known.place[:12].sum(axis=0), known.place[13:].sum(axis=0)
    assert low[0] > 1.15 * low[3] and high[3] > 1.15 * high[0]
