"""Walks in groups: what counts, what is alike, and that the order of rows changes nothing."""

import dataclasses
import random

import numpy as np
import pytest

from fencecast.errors import InputError
from fencecast.prove.fit.groups import group_walks
from prove.fit.onestep import WALKERS, invented_log
from prove.invented_walks import invented_plan


def with_walks(log, *changes):
    """The log with some walks changed, by index."""
    walks = list(log.walks)
    for index, keys in changes:
        walks[index] = dataclasses.replace(walks[index], **keys)
    return dataclasses.replace(log, walks=tuple(walks))


def test_voids_and_controls_are_left_out_and_off_is_unknown():
    plan = invented_plan(1)
    log = invented_log(plan, 2.6, 0.3, 1)
    changed = with_walks(log, (0, {"void": "animal"}), (1, {"control": True}), (2, {"heard": {"W": "off", "E": 1.5}}))
    groups = group_walks(plan, [changed], WALKERS)
    assert sum(len(group.seen) for group in groups) == len(plan.trials) - 2
    third = next(group for group in groups if 3 in group.trials)
    assert third.seen.tolist() == [[-1, 1]]


def test_walks_are_alike_by_place_gait_walker_and_weather():
    plan = invented_plan(4)
    log = invented_log(plan, 2.6, 0.3, 1)
    groups = group_walks(plan, [log], WALKERS)
    assert len(groups) == 24  # 12 kinds by 2 walkers
    assert {group.stature_m for group in groups} == {1.80, 1.65}
    noted = with_walks(log, (5, {"conditions": {"air_c": 2.0}}))
    assert len(group_walks(plan, [noted], WALKERS)) == 25
    alone = group_walks(plan, [log], None)
    assert len(alone) == 12 and alone[0].stature_m is None


def test_the_order_of_rows_and_of_logs_changes_nothing():
    plan = invented_plan(3)
    first, second = invented_log(plan, 2.6, 0.3, 1), invented_log(plan, 2.6, 0.3, 2, day=30)
    walks = list(first.walks)
    random.Random(4).shuffle(walks)
    one = group_walks(plan, [first, second], WALKERS)
    two = group_walks(plan, [second, dataclasses.replace(first, walks=tuple(walks))], WALKERS)
    assert [(g.place, g.gait, g.walker, g.trials) for g in one] == [(g.place, g.gait, g.walker, g.trials) for g in two]
    assert all(np.array_equal(a.seen, b.seen) for a, b in zip(one, two))


def test_unknown_walkers_are_reported_together_with_their_trials():
    plan = invented_plan(1)
    log = with_walks(invented_log(plan, 2.6, 0.3, 1), (0, {"walker": "C"}), (4, {"walker": "C"}), (7, {"walker": ""}))
    with pytest.raises(InputError) as caught:
        group_walks(plan, [log], WALKERS)
    assert 'walker "C" of trials 1, 5: allowed: walkers of the file' in str(caught.value)
    assert "no walker is named in trial 8: allowed" in str(caught.value)


def test_a_log_in_which_nothing_counts_is_refused():
    plan = invented_plan(1)
    log = invented_log(plan, 2.6, 0.3, 1)
    void = dataclasses.replace(log, walks=tuple(dataclasses.replace(walk, void="fell") for walk in log.walks))
    with pytest.raises(InputError, match="no walk counts"):
        group_walks(plan, [void], WALKERS)
