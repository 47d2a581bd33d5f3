"""States that stand for the hours of a year: real ones, for all of the hours, whatever their order, chosen where it matters.

How well they tell all hours: tests/estimate/test_hours_told.py on small years, benchmarks/hours.py on a whole one.
"""

from dataclasses import replace

import numpy as np
import pytest

from fencecast.hours.kriging import NUGGET, Kriging, correlation
from fencecast.hours.likeness import likeness
from fencecast.hours.representatives import Choice, Distinct, distinct_states, points_of, represent, state_classes
from fencecast.hours.signals import signals
from fencecast.meteorology.year import STATE_FIELDS
from hours.hourly import SITE
from meteorology.invented_year import invented_year


@pytest.fixture(scope="module")
def year():
    return invented_year(hours=600, fog_share=0.2)


@pytest.fixture(scope="module")
def distinct(year):
    return distinct_states(SITE, year)


@pytest.fixture(scope="module")
def chosen(distinct):
    return Choice(distinct, 40).first()


def uncertain(distinct, chosen) -> float:
    """Variance that is left when some states are known, the mean over all hours, by solving the system."""
    known = distinct.points[chosen]
    among = correlation(known, known) + NUGGET * np.eye(len(chosen))
    alike = correlation(distinct.points, known)
    return np.average(1.0 - (alike * np.linalg.solve(among, alike.T).T).sum(axis=1), weights=distinct.weights)


def test_representatives_are_states_that_happened(year, distinct, chosen):
    """Catches: means of groups, which no hour ever was."""
    standing, _ = represent(distinct, chosen)
    rows = {tuple(row) for row in np.column_stack([getattr(year.states, name) for name in STATE_FIELDS])}
    assert all(tuple(row) in rows for row in np.column_stack([getattr(standing.states, name) for name in STATE_FIELDS]))
    assert len(set(chosen)) == len(chosen) == 20


def test_every_counted_hour_is_stood_for_once(year, distinct, chosen):
    """Shares add up to 1 in each state, hours to those of the year. Catches: hours lost, counted twice, or not armed."""
    standing, order = represent(distinct, chosen)
    assert standing.states.weight.sum() == pytest.approx(year.counted.sum(), rel=1e-12)
    assert standing.share.sum(axis=1) == pytest.approx(1.0, abs=1e-12)
    assert np.array_equal(standing.rows, np.flatnonzero(year.counted[year.states.hour]))
    assert (np.diff(standing.states.weight) <= 0.0).all() and sorted(order) == list(range(len(standing)))
    nearest = np.linalg.norm(distinct.points[:, None] - distinct.points[chosen[order]][None], axis=2).argmin(axis=1)
    kriging = Kriging(distinct.points[chosen[order]])
    assert standing.left_out == pytest.approx(kriging.left_out(), abs=1e-6)
    others = np.delete(np.arange(len(nearest)), chosen)
    assert standing.unsure[others] == pytest.approx(kriging.unsure(distinct.points[others]), abs=1e-6)
    assert np.bincount(nearest, distinct.weights, len(chosen)) == pytest.approx(standing.states.weight)


def test_a_chosen_state_stands_for_itself(distinct, chosen):
    """Catches: a simulated state whose own Pd is not used, or that is said to be unsure."""
    standing, order = represent(distinct, chosen)
    assert np.array_equal(standing.share[chosen[order]], np.eye(len(chosen)))
    assert not standing.unsure[chosen].any() and standing.unsure.max() > 0.0


def test_a_twin_of_a_chosen_state_gets_its_pd_and_both_may_be_chosen(distinct, chosen):
    """Two states that lie at one point: nearly all of one is told by the other, the rest by those around (the nugget).

    Catches: a matrix that cannot be inverted, a chosen state that gets the mean with its twin."""
    points = distinct.points.copy()
    points[chosen[1]] = points[chosen[0]]
    twins = replace(distinct, points=points)
    standing, order = represent(twins, chosen)
    assert np.array_equal(standing.share[chosen[order]], np.eye(len(chosen)))
    one = np.delete(chosen, 1)
    standing, order = represent(twins, one)
    assert standing.share[chosen[1], np.flatnonzero(order == 0)[0]] > 0.8


def test_few_states_stand_for_themselves():
    """Catches: more states wanted than there are."""
    distinct = distinct_states(SITE, invented_year(hours=24, missing=0))
    choice = Choice(distinct, 500)
    chosen = choice.first()
    assert np.array_equal(chosen, np.arange(len(distinct.weights))) and choice.count == len(chosen)
    standing, order = represent(distinct, chosen)
    assert np.array_equal(standing.share[chosen[order]], np.eye(len(chosen)))
    assert not standing.unsure.any() and not standing.left_out.any()
    assert not len(choice.further(np.zeros((len(chosen), 1)), 0.9, 5))


def test_states_are_chosen_for_what_they_tell(distinct):
    """Less is left uncertain than by any of 200 draws by chance, and much less by twice the states. Catches: a search that stops
    early, hours that do not count, a variance that is not lowered by what was chosen before."""
    few, many = (Choice(distinct, count).first() for count in (20, 40))
    left = uncertain(distinct, few)
    rng = np.random.default_rng(0)
    chance = distinct.weights / distinct.weights.sum()
    drawn = [uncertain(distinct, rng.choice(len(chance), 10, replace=False, p=chance)) for _ in range(200)]
    assert len(few) == 10 and left < min(drawn)
    assert uncertain(distinct, many) < 0.5 * left
    # One that comes later never changes those before, so that twice the states keep what was simulated.
    assert np.array_equal(many[:10], few)


def test_states_are_added_where_the_answer_hangs():
    """Three groups on a line: Pd far above, at and far below the requirement. Catches: states added where nothing hangs."""
    points = np.concatenate([np.linspace(a, a + 0.3, 20) for a in (0.0, 3.0, 6.0)])[:, None]
    middle = range(20, 40)

    def added(weights, pd):
        choice = Choice(Distinct(None, weights, points, np.arange(60), np.arange(60)), 20)
        first = choice.first()
        group = first // 20
        assert set(group) == {0, 1, 2}
        more = choice.further(np.array(pd)[group][:, None], 0.90, 4)
        assert len(set(more) | set(first)) == len(first) + 4 and np.array_equal(choice.rows, np.concatenate([first, more]))
        return more

    assert all(k in middle for k in added(np.ones(60), [0.2, 0.9, 0.999]))
    assert all(k >= 40 for k in added(np.ones(60), [0.2, 0.999, 0.9]))
    many = np.where(np.arange(60) >= 40, 1e4, 1.0)
    assert any(k >= 40 for k in added(many, [0.2, 0.9, 0.96]))  # unless very many hours are there


def test_where_nothing_hangs_hours_say_where_to_look():
    """Every Pd so far from the requirement that its weight is 0 in floating point: the next states are those that come next by
    hours alone. Catches: candidates taken in their order when nothing distinguishes them."""
    points = np.concatenate([np.linspace(a, a + 0.3, 20) for a in (0.0, 3.0, 6.0)])[:, None]
    distinct = Distinct(None, np.where(np.arange(60) >= 40, 100.0, 1.0), points, np.arange(60), np.arange(60))
    choice = Choice(distinct, 20)
    first = choice.first()
    more = choice.further(np.zeros((len(first), 1)), 0.9, 4)
    assert np.array_equal(np.concatenate([first, more]), Choice(distinct, 40).first()[:14])


def test_many_hours_are_told_by_more_states():
    """Three equal groups on a line, then a hundred times the hours in one of them. Catches: hours that do not count."""
    points = np.concatenate([np.linspace(a, a + 0.3, 20) for a in (0.0, 3.0, 6.0)])[:, None]
    even, heavy = (
        Choice(Distinct(None, weights, points, np.arange(60), np.arange(60)), 20).first() // 20
        for weights in (np.ones(60), np.where(np.arange(60) < 20, 100.0, 1.0))
    )
    assert np.bincount(even, minlength=3).tolist() in ([3, 3, 4], [3, 4, 3], [4, 3, 3])
    assert np.bincount(heavy, minlength=3)[0] >= 5


def test_states_that_lie_together_are_not_chosen_twice():
    """Sixty states at three points, twenty wanted. Catches: a state simulated twice, a search that does not end."""
    points = np.repeat([0.0, 0.5, 1.0], 20)[:, None]
    choice = Choice(Distinct(None, np.ones(60), points, np.arange(60), np.arange(60)), 20)
    assert sorted(choice.first() // 20) == [0, 1, 2]
    assert not len(choice.further(np.array([[0.2], [0.9], [0.95]]), 0.9, 10))


def test_likeness_is_a_chance_that_only_falls_with_trouble(distinct):
    """Catches: transmission or noise turned round. In thicker fog of one kind, with all else alike, no chance rises."""
    alike = likeness(SITE, distinct.states)
    assert alike.min() >= 0.0 and alike.max() <= 1.0
    one = distinct.states.take(np.flatnonzero(distinct.states.fog == 1)[:1].repeat(6))
    foggy = replace(one, visibility_m=np.array([2000.0, 500.0, 200.0, 100.0, 50.0, 20.0]), ground_minus_air_k=np.full(6, -2.0))
    points = likeness(SITE, foggy)
    assert (np.diff(points, axis=0) <= 1e-9).all() and (points[-1] < points[0]).any()
    dirty = replace(one, window=np.array([1.0, 0.8, 0.6, 0.4, 0.2, 0.0]))
    assert (np.diff(likeness(SITE, dirty), axis=0) <= 1e-9).all()


def test_states_that_leave_a_usual_person_plain_still_differ(distinct):
    """Much contrast and little clutter, then half as much clutter again: likeness has nothing to say, Pd of the few in cold cloth
    does fall (rms 0.01 for states that likeness holds equal, measured). Catches: signals lost, or saturated too."""
    one = distinct.states.take(np.flatnonzero(distinct.states.fog == 0)[:1].repeat(2))
    plain = replace(
        one,
        air_temperature_c=np.full(2, 5.0),
        ground_minus_air_k=np.full(2, -4.0),
        visibility_m=np.full(2, 15_000.0),
        rain_mm_h=np.zeros(2),
        snow_mm_h=np.zeros(2),
        wetness=np.zeros(2),
        window=np.ones(2),
        clutter_k=np.array([0.1, 0.15]),
    )
    assert np.sqrt(np.mean(np.diff(likeness(SITE, plain), axis=0) ** 2)) < 0.002
    assert np.linalg.norm(np.diff(points_of(SITE, plain), axis=0)) > 0.01
    told = signals(SITE, plain)
    assert told[0, :2] == pytest.approx(told[1, :2])
    clutter = np.expm1(told[:, 2])
    assert clutter[1] == pytest.approx(1.5 * clutter[0])
    warm = signals(SITE, replace(plain, ground_minus_air_k=np.array([-4.0, 6.0])))
    assert warm[1, 0] < warm[0, 0]  # a ground nearer to clothing leaves less contrast
    assert signals(SITE, replace(plain, clutter_k=np.zeros(2)))[:, 2] == pytest.approx(0.0)


def test_names_say_nothing_that_changes_draws(distinct, chosen):
    """A class for each chosen state. Catches: two states in one class."""
    classes = state_classes(distinct, chosen)
    assert [len(each.states) for each in classes] == [1] * len(chosen)
