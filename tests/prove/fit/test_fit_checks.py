"""Checks after the fit find what was put in, stay quiet where nothing was, and are the same for the same walks."""

import numpy as np
import pytest

from fencecast.prove.fit.checks import check_fit
from fencecast.prove.fit.grid import Grid, Prior
from fencecast.prove.fit.groups import group_walks
from fencecast.prove.fit.likelihood import place_likelihoods, place_names
from fencecast.prove.fit.posterior import posterior
from prove.fit.onestep import WALKERS, OneStep, invented_crossings, invented_log
from prove.invented_walks import invented_plan


def checked(rounds, seed, changed=None, place_spread=0.0, draws=200):
    """Checks of a log; changed: (groups, cycles) -> the cycles that the fit believes in."""
    plan = invented_plan(rounds)
    groups = group_walks(plan, [invented_log(plan, 2.6, 0.3, seed, place_spread)], WALKERS)
    crossings = invented_crossings(groups)
    if changed:
        crossings = OneStep(changed(groups, crossings.cycles))
    grid = Grid.about(2.0)
    known = posterior(place_names(groups), place_likelihoods(groups, [crossings], grid), Prior(), grid)
    return check_fit(known, groups, [crossings], None, draws)


@pytest.mark.slow
def test_a_log_of_the_model_itself_raises_no_doubt():
    """Twelve logs of 120 walks, five checks each: of 60 p at most a few below 0.05, and they are spread over the whole range."""
    found = np.array([list(checked(10, seed).p.values()) for seed in range(12)], dtype=float)
    assert (found < 0.05).sum() <= 6  # 3 expected of independent ones; P(more than 6) is below 3 %
    assert found.min() > 0.002 and 0.3 < found.mean() < 0.7


@pytest.mark.parametrize(
    ("by", "wrong"),
    [
        ("gait", lambda groups, cycles: cycles * np.where([g.gait == "crouch" for g in groups], 1.4, 1.0)[:, None]),
        ("camera", lambda groups, cycles: cycles * np.array([1.35, 1.0])),
        ("walker", lambda groups, cycles: cycles * np.where([g.walker == "A" for g in groups], 1.35, 1.0)[:, None]),
        ("steepness", lambda groups, cycles: 2.6 * (cycles / 2.6) ** 2.2),
    ],
)
def test_a_model_that_is_wrong_in_one_thing_is_found_by_its_check(by, wrong):
    """300 walks, a cause of a third: seen at 1 % by the check of that name."""
    assert checked(25, 7, wrong).p[by] < 0.01


def test_places_that_differ_are_found_by_place():
    assert checked(25, 7, place_spread=0.4).p["place"] < 0.01


def test_a_check_of_one_group_is_none():
    plan = invented_plan(2)
    only = [each for each in invented_log(plan, 2.6, 0.3, 1).walks if each.gait == "walk" and each.walker == "A"]
    groups = group_walks(plan, only, WALKERS)
    crossings, grid = invented_crossings(groups), Grid.about(2.0)
    known = posterior(place_names(groups), place_likelihoods(groups, [crossings], grid), Prior(), grid)
    found = check_fit(known, groups, [crossings], None, 20)
    assert found.p["gait"] is None and found.p["walker"] is None and found.p["place"] is not None


def test_the_same_log_has_the_same_checks():
    assert checked(2, 3, draws=50) == checked(2, 3, draws=50)


def test_bands_hold_all_cells_and_their_alarms():
    found = checked(5, 3, draws=100)
    assert sum(band.cells for band in found.bands) == 2 * 60
    assert all(band.band_low <= band.expected <= band.band_high for band in found.bands)
    assert [band.cycles for band in found.bands] == sorted(band.cycles for band in found.bands)
