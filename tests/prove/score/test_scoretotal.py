"""Totals of unlike walks against enumeration and numbers worked out elsewhere; the list of places."""

from __future__ import annotations

import itertools

import numpy as np
import pytest

from fencecast.prove.score.places import MOST, score_places
from fencecast.prove.score.tables import predicted_walks
from fencecast.prove.score.total import holm, two_sided_p
from fencecast.prove.walks.chance import alarms_distribution
from prove.invented_walks import invented_plan
from prove.score.scored_logs import log_of

UNLIKE = [0.95] * 10 + [0.90] * 10 + [0.80] * 5


def test_numbers_worked_out_elsewhere():
    found = alarms_distribution(UNLIKE)
    assert found[25] == pytest.approx(0.068409, abs=5e-7)
    assert found[23:].sum() == pytest.approx(0.535244, abs=5e-7)
    assert two_sided_p(UNLIKE, 19) == pytest.approx(0.030820, abs=5e-7)
    assert two_sided_p(UNLIKE, 20) == pytest.approx(0.094315, abs=5e-7)


def test_against_all_courses():
    pd = [0.3, 0.8, 0.55, 0.9]
    chance = np.zeros(5)
    for course in itertools.product((0, 1), repeat=4):
        chance[sum(course)] += np.prod([p if hit else 1.0 - p for p, hit in zip(pd, course, strict=True)])
    assert alarms_distribution(pd) == pytest.approx(chance, abs=1e-15)
    for alarms in range(5):
        as_rare = chance[chance <= chance[alarms] * (1 + 1e-9)].sum()
        assert two_sided_p(pd, alarms) == pytest.approx(as_rare, abs=1e-14)
        assert two_sided_p(pd, alarms, middle=True) == pytest.approx(as_rare - 0.5 * chance[alarms], abs=1e-14)


def test_equally_likely_counts_enter_together():
    # 1 and 3 of four fair coins are equally likely: rounding must not part them.
    assert two_sided_p([0.5] * 4, 1) == pytest.approx(2 * 4 / 16 + 2 / 16)
    with pytest.raises(ValueError):
        two_sided_p([0.5], 2)


def test_holm_by_hand():
    assert holm([0.01, 0.04, 0.03]) == pytest.approx((0.03, 0.06, 0.06))
    assert holm([0.5, 0.9]) == (1.0, 1.0)
    assert holm([]) == ()


def test_places_are_three_at_most_and_the_odd_one_first(tmp_path):
    plan = invented_plan(rounds=5)

    def dead_at_27(kind):
        return {"": 1.0} if kind.place == "front 27" else kind.patterns

    walks = predicted_walks(plan, log_of(plan, tmp_path, 4, dead_at_27).walks)
    found = score_places(walks)
    assert len(found) == MOST
    assert (found[0].place, found[0].n, found[0].alarms) == ("front 27", 10, 0)
    assert found[0].p_holm == pytest.approx(6 * found[0].p)
    pd = [walk.pd for walk in walks if walk.walk.place == "front 27"]
    assert found[0].p == pytest.approx(0.5 * np.prod([1.0 - each for each in pd]), rel=1e-9)
