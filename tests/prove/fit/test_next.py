"""Information of walks against closed forms, and the choice of the next ones."""

import math
from collections import Counter

import numpy as np
import pytest

from fencecast.errors import UsageError
from fencecast.prove.fit.groups import group_walks
from fencecast.prove.fit.information import groups_of_kinds, information, kinds_to_walk
from fencecast.prove.fit.next import MOST_WALKS, choose_next, walk_next
from fencecast.prove.fit.walkfit import Question
from fencecast.site import parse_site
from prove.fit.onestep import WALKERS, OneStep, curve, cycles_of, invented_crossings, invented_log
from prove.invented_walks import invented_plan


@pytest.mark.parametrize(
    ("ratio", "pd", "expected"),
    [(0.7, 0.243, 1.671), (1.0, 0.500, 2.890), (1.2, 0.656, 3.078), (1.75, 0.900, 1.914), (2.5, 0.983, 0.601)],
)
def test_one_camera_tells_n50_where_the_curve_is_steep(ratio, pd, expected):
    """P (1 - P) (2.7 + 0.7 x (1 + ln x))^2, printed to three digits in the method's table."""
    one = OneStep(np.array([[2.6 * ratio]]))
    assert one.camera_pd(0, [2.6])[0, 0] == pytest.approx(pd, abs=6e-4)
    found = information(one, 0, 2.6, 0.3)
    assert found[0, 0] == pytest.approx(expected, abs=2e-3)
    assert found[1, 1] == pytest.approx(0.0, abs=1e-9)


def test_two_cameras_at_one_half_tell_the_correlation():
    """P(both) = 1/4 + asin(r) / 2 pi: at r 0.3 a walk tells 0.463 of the correlation."""
    two = OneStep(np.array([[2.6, 2.6]]))
    assert information(two, 0, 2.6, 0.3)[1, 1] == pytest.approx(0.463, abs=2e-3)
    slope, both = 1.0 / (2.0 * math.pi * math.sqrt(1.0 - 0.09)), 0.25 + math.asin(0.3) / (2.0 * math.pi)
    assert information(two, 0, 2.6, 0.3)[1, 1] == pytest.approx(2 * slope**2 * (1 / both + 1 / (0.5 - both)), rel=2e-3)
    assert information(two, 0, 2.6, 0.0)[1, 1] > 0.3  # one-sided at the end of its range
    assert information(two, 0, 2.6, 0.3, only=0)[0, 0] == pytest.approx(2.890, abs=2e-3)
    assert information(OneStep(np.array([[2.6, 1e-3]])), 0, 2.6, 0.3, only=1).tolist() == [[0.0, 0.0], [0.0, 0.0]]


def chosen(cycles_50, walks, rounds=3, seed=5):
    plan = invented_plan(rounds)
    log = invented_log(plan, cycles_50, 0.3, seed)
    groups = group_walks(plan, [log], WALKERS)
    question = Question(plan, "0" * 64, (log,), WALKERS, parse_site(plan.site_toml), False, groups)
    kinds = kinds_to_walk(plan)
    return choose_next(question, invented_crossings(groups), kinds, invented_crossings(groups_of_kinds(plan, kinds)), walks)


def test_the_next_walks_lie_where_the_curve_is_steep_at_what_is_known_by_now():
    """An N50 below the plan's sends walkers where cameras begin to miss; one above where they still see."""
    good, bad = chosen(1.2, 4, 8), chosen(3.6, 4, 8)
    assert 0.9 < good.median < 1.6 < bad.median
    assert all(walk.gait == "crouch" for walk in good.walks)
    for found in (good, bad):
        for walk in found.walks:
            pd = {place.place: place for place in found.question.plan.places}[walk.place].chainage_m
            assert pd and 0.25 < min(walk.pd_camera.values()) < 0.95
        assert found.after_ln_n50 < found.sd_ln_n50 and found.after_r < found.sd_r
        assert found.walks[-1].sd_ln_n50 == found.after_ln_n50


def test_at_most_half_of_the_walks_are_at_one_place():
    for walks in (1, 4, 9):
        found = chosen(2.6, walks)
        assert len(found.walks) == walks
        assert max(Counter(walk.place for walk in found.walks).values()) <= math.ceil(walks / 2)


def test_what_is_gained_is_the_information_of_the_walks_added_to_what_is_known():
    """Wide knowledge gains more; by hand for one walk of one kind at one value is a harmonic sum of precisions at most."""
    found = chosen(2.6, 4)
    best = max(2.0 * curve(x) * (1 - curve(x)) * (2.7 + 0.7 * x * (1 + math.log(x))) ** 2 for x in np.linspace(0.5, 3, 200))
    least = (found.sd_ln_n50**-2 + 4 * best) ** -0.5
    assert least < found.after_ln_n50 < found.sd_ln_n50


def test_controls_are_not_walked_for_n50():
    plan = invented_plan(1)
    trials = [trial.model_copy(update={"control": trial.kind == "K3"}) for trial in plan.trials]
    assert "K3" not in {kind.kind for kind in kinds_to_walk(plan.model_copy(update={"trials": tuple(trials)}))}
    assert cycles_of(0.5) == pytest.approx(2.0)


@pytest.mark.parametrize("walks", [0, MOST_WALKS + 1])
def test_numbers_of_walks_out_of_range_are_refused_before_anything_is_read(walks):
    with pytest.raises(UsageError, match=f"--walks is {walks}; allowed: 1 to 48"):
        walk_next("not-there.json", "not-there.csv", walks)
