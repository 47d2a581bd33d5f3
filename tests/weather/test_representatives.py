"""States that stand for the hours of a year: real ones, for all of the hours, whatever their order, chosen where it matters.

Measured once, at 64 crossings a cell on the demo cut into 8 m segments and an invented year of 4,363 armed hours, against every
one of its 1,436 states in fog, rain or snow (and one in 14 of the others) simulated by itself: weak hours of ten segments differ
by 3 to 5 % in the median with 64 states, 0.8 % with 96 (largest 4.4 %, sum 0.4 %), 0.9 % with 192 (2.4 %, 1.1 %); with all 96
chosen by likeness alone 2.9 % (11 %).
"""

from dataclasses import replace

import numpy as np
import pytest

from estimate.hourly import SITE
from fencecast.weather.likeness import likeness
from fencecast.weather.representatives import (
    BLEND,
    Distinct,
    _medoids,
    distinct_states,
    first_choice,
    nearest,
    represent,
    state_classes,
    where_it_hangs,
)
from fencecast.weather.year import STATE_FIELDS
from weather.invented_year import invented_year


@pytest.fixture(scope="module")
def distinct():
    return distinct_states(SITE, invented_year(hours=600, fog_share=0.2))


def test_representatives_are_states_that_happened(distinct):
    """Catches: means of groups, which no hour ever was."""
    chosen = first_choice(distinct, 40)
    standing, _ = represent(distinct, chosen)
    year = invented_year(hours=600, fog_share=0.2)
    rows = {tuple(row) for row in np.column_stack([getattr(year.states, name) for name in STATE_FIELDS])}
    assert all(tuple(row) in rows for row in np.column_stack([getattr(standing.states, name) for name in STATE_FIELDS]))
    assert len(set(chosen)) == len(chosen) == 20


def test_every_counted_hour_is_stood_for_once(distinct):
    """Shares add up to 1 in each state, hours to those of the year. Catches: hours lost, counted twice, or not armed."""
    year = invented_year(hours=600, fog_share=0.2)
    standing, order = represent(distinct, first_choice(distinct, 40))
    assert standing.states.weight.sum() == pytest.approx(year.counted.sum(), rel=1e-12)
    assert standing.share.sum(axis=1) == pytest.approx(1.0)
    assert standing.other_share.sum(axis=1) == pytest.approx(1.0)
    assert np.array_equal(standing.rows, np.flatnonzero(year.counted[year.states.hour]))
    assert (np.diff(standing.states.weight) <= 0.0).all() and sorted(order) == list(range(len(standing)))
    assert (standing.blend[:, 0] != standing.other[:, 0]).all()


def test_a_chosen_state_stands_for_itself(distinct):
    """Catches: a simulated state whose own Pd is not used."""
    chosen = first_choice(distinct, 40)
    standing, order = represent(distinct, chosen)
    where = {row: k for k, row in enumerate(chosen[order])}
    for n, member in enumerate(distinct.member):
        if member in where:
            assert standing.blend[n, 0] == where[member]
            assert standing.share[n].tolist() == [1.0] + [0.0] * (BLEND - 1)


def test_few_states_stand_for_themselves():
    """Catches: k-means with more groups than points."""
    year = invented_year(hours=24, missing=0)
    distinct = distinct_states(SITE, year)
    chosen = first_choice(distinct, 500)
    assert len(chosen) == len(distinct.weights)
    assert represent(distinct, chosen)[0].share[:, 0] == pytest.approx(1.0)


def test_more_states_leave_less_distance(distinct):
    """Catches: a search that stops early, or centres that are never moved."""

    def distance(count):
        chosen = _medoids(distinct.points, distinct.weights, count, 0)
        return np.average(nearest(distinct.points, distinct.points[chosen], 1)[1][:, 0], weights=distinct.weights)

    far, near = distance(10), distance(40)
    assert near < 0.4 * far
    drawn = np.random.default_rng(0).choice(len(distinct.points), 40, replace=False)
    by_chance = np.average(nearest(distinct.points, distinct.points[drawn], 1)[1][:, 0], weights=distinct.weights)
    assert near < 0.6 * by_chance


def test_nearest_is_nearest():
    """Against every distance worked out. Catches: an index of the block taken for that of the whole."""
    rng = np.random.default_rng(2)
    points, centres = rng.random((9000, 4)), rng.random((30, 4))
    found, away = nearest(points, centres, 3)
    full = ((points[:, None] - centres[None]) ** 2).mean(axis=2)
    assert np.array_equal(found, np.argsort(full, axis=1)[:, :3])
    assert away == pytest.approx(np.sort(full, axis=1)[:, :3], rel=1e-9)
    assert np.isinf(nearest(points[:5], centres[:2], 3)[1][:, 2]).all()


def test_states_are_added_where_the_answer_hangs():
    """Three groups on a line: Pd far above, near and far below the requirement. Catches: states added where nothing hangs."""
    points = np.concatenate([np.linspace(a, a + 0.1, 20) for a in (0.0, 0.4, 0.8)])[:, None]
    many = Distinct(None, np.ones(60), points, np.arange(60), np.arange(60))
    chosen = np.array([0, 19, 20, 39, 40, 59])
    pd = np.array([0.2, 0.25, 0.86, 0.94, 0.995, 0.998])[:, None]
    added = where_it_hangs(many, chosen, pd, 0.90, 4)
    assert len(set(added) | set(chosen)) == 10 and all(20 <= k < 40 for k in added)
    heavy = Distinct(None, np.where(np.arange(60) == 50, 1e9, 1.0), points, np.arange(60), np.arange(60))
    assert 50 in where_it_hangs(heavy, chosen, pd, 0.90, 4)  # unless very many hours are like it


def test_likeness_is_a_chance_that_only_falls_with_trouble(distinct):
    """Catches: transmission or noise turned round. In thicker fog of one kind, with all else alike, no chance rises."""
    assert distinct.points.min() >= 0.0 and distinct.points.max() <= 1.0
    one = distinct.states.take(np.flatnonzero(distinct.states.fog == 1)[:1].repeat(6))
    foggy = replace(one, visibility_m=np.array([2000.0, 500.0, 200.0, 100.0, 50.0, 20.0]), ground_minus_air_k=np.full(6, -2.0))
    points = likeness(SITE, foggy)
    assert (np.diff(points, axis=0) <= 1e-9).all() and (points[-1] < points[0]).any()
    dirty = replace(one, window=np.array([1.0, 0.8, 0.6, 0.4, 0.2, 0.0]))
    assert (np.diff(likeness(SITE, dirty), axis=0) <= 1e-9).all()


def test_names_say_nothing_that_changes_draws(distinct):
    """A class for each chosen state. Catches: two states in one class."""
    chosen = first_choice(distinct, 40)
    classes = state_classes(distinct, chosen)
    assert [len(each.states) for each in classes] == [1] * len(chosen)
