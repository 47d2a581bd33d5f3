"""Delays by order statistics, their coverage, and alarms outside walks."""

from __future__ import annotations

import datetime
import math

import numpy as np
import pytest

from fencecast.prove.log.walked import Outside, Walked, WalkLog
from fencecast.prove.score.delay import median_interval, score_delay, score_depth
from fencecast.prove.score.outside import chance_alarm, score_outside
from prove.invented_walks import invented_plan

PLAN = invented_plan()
START = datetime.datetime(2026, 11, 29, 22)


def walked(trial, heard, depth=None, kind="K1"):
    moment = START + datetime.timedelta(minutes=2 * trial)
    return Walked(trial, "front 9", "walk", "in", "A", moment, heard, kind, "C1", False, "clear night", depth_m=depth)


def log_of(walks, unit=1.0, **more):
    return WalkLog("log.csv", tuple(walks), (), "0" * 64, unit_s=unit, **more)


def test_the_interval_of_a_median_by_hand():
    # 10 values: P(at most one below the median) = 11/1024, twice is 0.0215; at most two would be 0.109.
    found = median_interval(np.arange(10.0), 1.0)
    assert (found.median, found.low, found.high) == (4.5, 1.0 - 0.5, 8.0 + 0.5)
    six = median_interval(np.arange(6.0), 0.0)
    assert (six.low, six.high) == (0.0, 5.0)
    assert median_interval(np.arange(5.0), 0.0).low is None


def test_the_interval_holds_the_median_of_any_shape():
    rng = np.random.default_rng(1)
    held = []
    for _ in range(400):
        true = rng.exponential(2.0, 36)
        found = median_interval(np.floor(true) + 0.5, 1.0)  # read to whole seconds, the middle of each
        held.append(found.low <= 2.0 * math.log(2.0) <= found.high)
    assert np.mean(held) >= 0.95


def test_delay_of_the_system():
    walks = [walked(k, {"W": 2.0 + 0.1 * k, "E": 5.0}) for k in range(1, 8)]
    found = score_delay(PLAN, log_of(walks), latest_s=3.0)
    assert found.delay_s.median == pytest.approx(2.4)  # the earlier camera; the predicted median is 0
    assert (found.delay_s.low, found.delay_s.high) == (pytest.approx(1.6), pytest.approx(3.2))
    assert (found.kept, found.later) == ("open", 0)
    assert score_delay(PLAN, log_of(walks), latest_s=3.5).kept == "yes"
    assert score_delay(PLAN, log_of(walks), latest_s=1.0).kept == "no"
    assert score_delay(PLAN, log_of(walks), latest_s=2.35).later == 4


def test_walks_without_every_time_say_nothing_of_delays():
    assert score_delay(PLAN, log_of([walked(1, {"W": 2.0, "E": "yes"})])) is None
    assert score_delay(PLAN, log_of([walked(1, {"W": "yes", "E": "no"})])) is None
    assert score_delay(PLAN, log_of([walked(1, {"W": 2.0, "E": "no"})], unit=60.0)) is None
    assert score_delay(PLAN, log_of([walked(1, {"W": 2.0, "E": "no"})], unit=0.1)).delay_s.values == 1


def with_delays(pairs):
    kinds = tuple(kind.model_copy(update={"delay_s": pairs}) for kind in PLAN.kinds)
    return PLAN.model_copy(update={"kinds": kinds})


def test_the_shape_of_delays_where_the_rule_predicts_one():
    plan = with_delays(tuple((0.5 + k, 0.1) for k in range(10)))
    rng = np.random.default_rng(2)
    drawn = [walked(k, {"W": float(rng.integers(0, 10)) + 0.5 + 3.0, "E": "no"}) for k in range(1, 41)]
    fits = score_delay(plan, log_of(drawn))
    # The median of 40 draws from 0.5 to 9.5 lies within 2 s of the predicted one, 4.5, plus 3 of the system.
    assert fits.p_shape > 0.05 and fits.delay_s.median == pytest.approx(3.0, abs=2.0)
    wide = [walked(k, {"W": 12.0 if k % 2 else -3.0, "E": "no"}) for k in range(1, 41)]
    assert score_delay(plan, log_of(wide)).p_shape <= 0.001
    assert score_delay(plan, log_of(drawn[:19])).p_shape is None
    assert score_delay(PLAN, log_of(drawn)).p_shape is None  # a line's spread is below the unit of reading


def test_depth_as_noted():
    walks = [walked(k, {"W": "yes", "E": "no"}, depth=1.0 + 0.1 * k) for k in range(7)] + [
        walked(9, {"W": "no", "E": "no"}, depth=9.0)
    ]
    found = score_depth(log_of(walks))
    assert (found.median, found.low, found.high, found.values) == (pytest.approx(1.3), 1.0, pytest.approx(1.6), 7)
    assert score_depth(log_of([walked(1, {"W": "yes", "E": "no"})])) is None


def test_alarms_outside_walks():
    assert chance_alarm(20.0) == pytest.approx(0.105, abs=5e-4)
    outside = tuple(Outside(START + datetime.timedelta(minutes=k), "W") for k in range(10))
    found = score_outside(PLAN, log_of([walked(1, {"W": "no", "E": "no"})], outside=outside, watch_h=2.0))
    assert found.per_hour == {"W": 5.0, "E": 0.0} and found.loud == ("W",)
    assert found.chance["W"] == pytest.approx(1.0 - math.exp(-5.0 * 20.0 / 3600.0))
    assert score_outside(PLAN, log_of([], outside=outside)).per_hour == {}
