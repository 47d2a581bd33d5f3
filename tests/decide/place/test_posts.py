"""Cameras of one post count as the best of them in the search, by formulas written out here, and gains know it."""

import dataclasses

import numpy as np
import pytest

from decide.place.test_search import invented
from fencecast.decide.place.bounds import least_cost
from fencecast.decide.place.posts import posts_of
from fencecast.decide.place.search import State, make_task, search

LINE = np.array([[0.0, 0.0], [1.9, 0.0], [4.0, 0.0], [5.9, 0.0], [20.0, 0.0], [20.0, 0.0]])


def placed(seed, xy_m):
    joint, candidates, base = invented(seed, new=len(xy_m), unit_cost=True)
    return dataclasses.replace(joint, xy_m=xy_m), candidates, base


def by_hand(joint, posts):
    """Pd of every cell: 1 minus the product over posts of the smallest survival, all in double precision."""
    product = np.ones((len(joint.active), joint.crossings, len(joint.weights)))
    for post in posts:
        each = np.ones((len(post), *product.shape))
        for row, c in enumerate(post):
            each[row][joint.cells[c]] = 1.0 - joint.tables[c].astype(float)
        product *= each.min(axis=0)
    return 1.0 - (product @ joint.weights).mean(axis=1)


def test_neighbours_at_most_two_metres_apart_are_one_post():
    """By hand: 1.9 m is one post, 2.1 m is two, a chain is one. Catches: complete linkage, a wrong border."""
    assert posts_of(LINE, [0, 1, 2, 3, 4, 5]) == [(0, 1), (2, 3), (4, 5)]
    chain = np.array([[0.0, 0.0], [3.6, 0.0], [1.8, 0.0]])
    assert posts_of(chain, [0, 1]) == [(0,), (1,)] and posts_of(chain, [0, 1, 2]) == [(0, 1, 2)]
    assert posts_of(np.array([[0.0, 0.0], [2.0, 0.0]]), [0, 1]) == [(0, 1)]


@pytest.mark.parametrize("seed", range(4))
def test_a_second_camera_of_a_post_brings_what_it_adds(seed):
    """Catches: a product within a post (18 cameras on one mast were each paid for)."""
    joint, _, _ = placed(seed, LINE)
    posts = [(0, 1), (2, 3), (4, 5)]
    np.testing.assert_allclose(joint.pd(range(6)), by_hand(joint, posts), atol=1e-6)
    twice = dataclasses.replace(joint, cells=(joint.cells[0],) * 6, tables=(joint.tables[0],) * 6)
    np.testing.assert_array_equal(twice.pd([0, 1]), twice.pd([0]))
    assert np.nanmax(twice.pd([1, 2]) - twice.pd([1])) > 0.01


@pytest.mark.parametrize("seed", range(6))
def test_gains_are_differences_of_whole_evaluations(seed):
    """Also where a candidate joins two posts into one. Catches: a gain by the product, a bridge judged in its own cells alone."""
    random = np.random.default_rng(seed)
    joint, candidates, base = placed(seed, random.uniform(0.0, 6.0, (7, 2)).round(1))
    task = make_task(joint, candidates, np.ones(len(joint.active)), np.full(len(joint.active), 0.9), base)
    state = State(task, (0, 3, 4))
    for j, after, gain, _ in state.moves():
        whole = task.worth_of(by_hand(joint, posts_of(joint.xy_m, after)))
        assert gain == pytest.approx(whole - task.worth_of(by_hand(joint, posts_of(joint.xy_m, (0, 3, 4)))), abs=1e-5), j


@pytest.mark.parametrize("seed", range(6))
def test_the_bound_stands_with_posts(seed):
    """Every set tried: none that does it costs less. Catches: gains of 2 m posts in a bound that needs one partition."""
    import itertools

    random = np.random.default_rng(seed + 50)
    joint, candidates, base = placed(seed, random.uniform(0.0, 8.0, (8, 2)).round(1))
    caps = np.minimum(0.8, joint.pd(range(8)) - 0.001)
    task = make_task(joint, candidates, np.ones(len(caps)), caps, base)
    sets = [s for n in range(9) for s in itertools.combinations(range(8), n)]
    cheapest = min(task.cost(s) for s in sets if task.worth_of(joint.pd(s)) >= task.full - 1e-6)
    assert least_cost(task, [(), search(task, task.full).last.subset]) <= cheapest + 1e-6
