"""The prediction's test: its size on logs made with the plan's own patterns, what it sees, and what it must not depend on."""

from __future__ import annotations

import datetime
import random
from dataclasses import replace

import numpy as np
import pytest

from fencecast.prove.log.read import read_log
from fencecast.prove.log.walked import Walked
from fencecast.prove.score.predictive import _compare, draw_logs, log_score, score_prediction, sees_change
from fencecast.prove.score.tables import predicted_walks, shares_of, unforeseen
from prove.invented_walks import invented_plan
from prove.score.scored_logs import curve_plan, log_of, world
from prove.walk_logs import log_rows, write_log

PLAN = invented_plan()
CURVE = curve_plan(PLAN)


def walked(plan, seed, patterns=lambda kind: kind.patterns):
    """Walks as if read from a log, without the file: 200 logs are drawn."""
    drawn = random.Random(seed)
    walks = []
    for number, trial in enumerate(plan.trials):
        kind = plan.kind_of(trial.kind)
        shares = patterns(kind)
        seen = drawn.choices(list(shares), weights=list(shares.values()))[0].split("+")
        heard = {mark: "yes" if mark in seen else "no" for mark in plan.marks}
        moment = datetime.datetime(2026, 11, 29, 22) + datetime.timedelta(minutes=2 * number)
        walks.append(Walked(trial.trial, kind.place, kind.gait, "in", "A", moment, heard, kind.kind, "C1", False, "clear night"))
    return predicted_walks(plan, walks)


def share_called_wrong(plan, logs, patterns=lambda kind: kind.patterns, which="p"):
    """Share of logs of a world with a p of at most 0.05, all against the same 1,999 logs of the plan's own patterns."""
    walks = walked(plan, 1)
    drawn = draw_logs(walks, 1999, np.random.default_rng(11))
    shares = {kind.kind: shares_of(kind, kind.pd_camera, patterns(kind)) for kind in plan.kinds}
    observed = draw_logs(walks, logs, np.random.default_rng(12), lambda walk: shares[walk.walk.kind])
    found = [_compare(walks, observed[[k]], drawn) for k in range(logs)]
    return np.mean([getattr(each, which) <= 0.05 for each in found])


def test_a_log_of_the_plans_own_patterns_is_called_wrong_in_one_of_twenty():
    # 200 logs: 0.05 within three standard errors (0.015); always the same logs.
    for plan in (PLAN, CURVE):
        assert share_called_wrong(plan, 200) <= 0.05 + 3.0 * np.sqrt(0.05 * 0.95 / 200)


def test_its_size_is_exact():
    # Every drawn log in turn in the place of the observed one: at most 5 % of 399 have a p of at most 0.05.
    walks = walked(CURVE, 1)
    drawn = draw_logs(walks, 399, np.random.default_rng(3))
    p = [_compare(walks, drawn[[k]], np.delete(drawn, k, axis=0)).p for k in range(len(drawn))]
    assert np.mean(np.array(p) <= 0.05 + 1e-9) <= 0.05
    assert np.mean(np.array(p) <= 0.05 + 1e-9) >= 0.03  # and it is not idle


def test_another_n50_is_seen_from_both_sides():
    # Two-hour plan, 36 walks, N50 2.6 and r 0.3 in place of 2.0 and 0.5: about four in five tests; the other side as well.
    assert share_called_wrong(CURVE, 100, world(CURVE, 2.6, 0.3)) >= 0.65
    better = world(CURVE, 1.5, 0.5)
    assert share_called_wrong(CURVE, 100, better) >= 0.5
    assert share_called_wrong(CURVE, 100, better, "p_score") <= 0.05  # the score alone is blind to it


def test_120_walks_see_more():
    longer = curve_plan(invented_plan(rounds=10))
    assert share_called_wrong(longer, 20, world(longer, 2.6, 0.3)) == 1.0


def test_a_camera_that_fails_in_three_of_ten_walks_is_seen():
    def failing(kind):
        p = kind.patterns
        return {"": p[""] + 0.3 * p["W"], "W": 0.7 * p["W"], "E": p["E"] + 0.3 * p["W+E"], "W+E": 0.7 * p["W+E"]}

    assert share_called_wrong(CURVE, 100, failing) >= 0.8


def test_the_score_by_hand():
    walks = walked(PLAN, 5)
    by_hand = 0.0
    for walk in walks:
        name = "+".join(mark for mark in ("W", "E") if walk.walk.heard[mark] == "yes")
        by_hand -= np.log(PLAN.kind_of(walk.walk.kind).patterns[name])
    assert log_score(walks, np.array([[walk.seen for walk in walks]]))[0] == pytest.approx(by_hand, rel=1e-5)


def test_a_camera_that_was_off_is_summed_out():
    kind = PLAN.kinds[0]
    assert shares_of(kind, ("W",)) == pytest.approx(
        [kind.patterns[""] + kind.patterns["E"], kind.patterns["W"] + kind.patterns["W+E"]], abs=1e-5
    )
    walk = walked(PLAN, 1)[0].walk
    off = predicted_walks(PLAN, [replace(walk, claim=None, heard={"W": "off", "E": "yes"})])
    assert off[0].marks == ("E",) and off[0].seen == 1 and off[0].pd == pytest.approx(kind.pd_camera["E"], abs=1e-5)
    assert predicted_walks(PLAN, [replace(walk, heard={"W": "off", "E": "off"})]) == []


def test_other_weather_was_not_predicted():
    walks = [walk.walk for walk in walked(PLAN, 1)]
    fog = [replace(walk, weather="fog") for walk in walks[:5]]
    assert len(predicted_walks(PLAN, [*fog, *walks[5:]])) == 31


def test_what_never_was_simulated_is_not_impossible():
    kind = PLAN.kinds[0].model_copy(update={"patterns": {"": 0.0, "W": 0.0, "E": 0.0, "W+E": 1.0}})
    assert shares_of(kind, ("W", "E"))[0] == pytest.approx(1e-6, rel=1e-3)


def test_cameras_that_are_not_named_are_no_part_of_the_prediction():
    kinds = tuple(kind.model_copy(update={"pd_camera": {"W": 0.9}, "patterns": {"": 0.1, "W": 0.9}}) for kind in PLAN.kinds)
    plan = PLAN.model_copy(update={"kinds": kinds})
    walks = [walk.walk for walk in walked(PLAN, 2)]
    found = predicted_walks(plan, walks)
    assert {walk.marks for walk in found} == {("W",)}
    assert unforeseen(plan, walks) == {"E": sum(walk.heard["E"] == "yes" for walk in walks)}


def test_marks_with_a_plus_sign():
    kind = PLAN.kinds[0].model_copy(
        update={"pd_camera": {"A+B": 0.5, "C": 0.5}, "patterns": {"": 0.1, "A+B": 0.2, "C": 0.3, "A+B+C": 0.4}}
    )
    assert shares_of(kind, ("A+B", "C")) == pytest.approx([0.1, 0.2, 0.3, 0.4])


def test_the_order_of_rows_changes_nothing(tmp_path):
    rows = log_rows(PLAN, 7)
    scores = []
    for order in (rows, rows[::-1], random.Random(1).sample(rows, len(rows))):
        log = read_log(write_log(tmp_path / "log.csv", order), PLAN)
        scores.append(score_prediction(PLAN, predicted_walks(PLAN, log.walks), replicates=199))
    assert scores[0] == scores[1] == scores[2]


def test_bands_hold_whole_walks():
    walks = walked(CURVE, 3)
    found = score_prediction(CURVE, walks)
    assert sum(group.n for group in found.groups) == 72
    assert sum(group.alarms for group in found.groups) == found.camera_alarms
    # The lowest group against its counts drawn here, walk by walk.
    group = found.groups[0]
    drawn = draw_logs(walks, 4000, np.random.default_rng(9))
    counts = np.zeros(4000)
    for column, walk in enumerate(walks):
        for bit, pd in enumerate(walk.camera_pd()):
            if group.low - 1e-9 <= pd <= group.high + 1e-9:
                counts += drawn[:, column] >> bit & 1
    inside = np.mean((counts >= group.band_low) & (counts <= group.band_high))
    assert 0.94 <= inside <= 0.99
    assert np.mean((counts > group.band_low) & (counts < group.band_high)) < 0.95  # and no wider than that


def test_what_so_many_walks_cannot_see():
    walks = walked(PLAN, 1)
    # Each kind tells 4.0 of ln N50: 36 walks 144, a standard error of 1/12.
    assert sees_change(PLAN, walks) == pytest.approx(np.exp(2.8 / 12.0) - 1.0)
    blind = PLAN.model_copy(update={"kinds": tuple(kind.model_copy(update={"information_ln_n50": 0.0}) for kind in PLAN.kinds)})
    assert sees_change(blind, walks) is None


def test_the_prior_allows_what_the_prediction_does_not():
    prior = [
        {kind.kind: world(CURVE, n, r)(kind) for kind in CURVE.kinds}
        for n in 2.0 * np.exp([-0.8, -0.4, 0.0, 0.4, 0.8])
        for r in (0.2, 0.7)
    ]
    worse = score_prediction(CURVE, walked(CURVE, 1, world(CURVE, 2.9, 0.3)), prior, 999)
    assert worse.p <= 0.05 < worse.p_within_prior
    broken = score_prediction(CURVE, walked(CURVE, 1, lambda kind: {"": 0.9, "W+E": 0.1}), prior, 999)
    assert broken.p_within_prior <= 0.05


def test_nothing_to_score():
    assert score_prediction(PLAN, []) is None


def test_a_read_log_gives_the_same_walks(tmp_path):
    log = log_of(PLAN, tmp_path, 2)
    assert [walk.walk.trial for walk in predicted_walks(PLAN, log.walks)] == list(range(1, 37))
