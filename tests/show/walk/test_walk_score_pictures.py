"""Pictures of a scored walk test: the data that they draw, titles from the data, no text on another."""

from __future__ import annotations

import numpy as np
import pytest

from fencecast.errors import UsageError
from fencecast.findings.walkscorewords import claims_title, prediction_title
from fencecast.prove.log.read import read_log
from fencecast.prove.score.score import score_log
from fencecast.show.walk.claims import plot_claims
from fencecast.show.walk.predictedobserved import plot_predicted_observed
from fencecast.show.walk.scoredata import claims_data, predicted_observed_data
from prove.invented_walks import invented_plan
from prove.walk_logs import log_rows, write_log
from show.overlap import overlaps, texts

PLAN = invented_plan()


def scored(tmp_path, patterns=lambda kind: kind.patterns, plan=PLAN, rows=None):
    log = read_log(write_log(tmp_path / "log.csv", rows or log_rows(plan, 1, patterns)), plan)
    return score_log(plan, "f" * 64, log)


def fewer(kind):
    shares = {name: 0.5 * share if name else share for name, share in kind.patterns.items()}
    return shares | {"": 1.0 - sum(share for name, share in shares.items() if name)}


WORLDS = {"agrees": lambda kind: kind.patterns, "fewer": fewer, "all": lambda kind: {"W+E": 1.0}, "none": lambda kind: {"": 1.0}}


@pytest.mark.parametrize("world", WORLDS)
def test_nothing_lies_on_anything_else(world, tmp_path):
    score = scored(tmp_path, WORLDS[world])
    for plot in (plot_predicted_observed, plot_claims):
        assert overlaps(plot(score)) == []


def test_groups_are_the_scores(tmp_path):
    score = scored(tmp_path, fewer)
    data = predicted_observed_data(score)
    assert data.title == prediction_title(score.prediction)
    for row, group in zip(data.groups, score.prediction.groups, strict=True):
        assert row.count == f"{group.alarms} of {group.n}" and row.observed == group.alarms / group.n
        assert row.band == (group.band_low / group.n, group.band_high / group.n) and row.bar is None
        assert (row.outside != 0) == (not row.band[0] <= row.observed <= row.band[1])
    assert data.total.bar is not None and data.total.outside == -1
    shown = " ".join(texts(plot_predicted_observed(score)))
    assert "fewer than the band" in shown and data.total.count in shown


def test_the_band_of_all_walks_is_exact(tmp_path):
    score = scored(tmp_path)
    low, high = (round(36 * end) for end in predicted_observed_data(score).total.band)
    pd = [score.plan.kind_of(walk.kind).pd for walk in score.log.walks]
    rng = np.random.default_rng(4)
    counts = (rng.random((20000, 36)) < pd).sum(axis=1)
    assert np.mean(counts < low) <= 0.026 and np.mean(counts > high) <= 0.026
    assert np.mean(counts <= low) >= 0.024


def test_open_marks_are_those_outside(tmp_path):
    score = scored(tmp_path, fewer)
    figure = plot_predicted_observed(score)
    data = predicted_observed_data(score)
    dots = [patch for patch in figure.axes[0].patches if type(patch).__name__ == "Circle"]
    hollow = sum(patch.get_facecolor()[:3] == (1.0, 1.0, 1.0) for patch in dots)
    assert len(dots) == len(data.groups) + 1 + 2  # and two in the key
    assert hollow == sum(bool(row.outside) for row in (*data.groups, data.total)) + 1


def test_claims_are_the_scores(tmp_path):
    score = scored(tmp_path, fewer)
    data = claims_data(score)
    row, claim = data.rows[0], score.claims[0]
    assert data.title == claims_title(score) and data.requirement == 0.90
    assert (row.verdict, row.low, row.high, row.low_one_sided) == (
        claim.judged.verdict, claim.judged.low, claim.judged.high, claim.judged.low_one_sided,
    )  # fmt: skip
    kinds = PLAN.kinds
    assert row.predicted == pytest.approx(sum(kind.pd for kind in kinds) / len(kinds))
    shown = texts(plot_claims(score))
    assert "required 0.9" in shown and claim.judged.verdict in shown


def test_many_claims_and_a_long_name(tmp_path):
    claims = tuple(
        PLAN.claims[0].model_copy(
            update={"claim": f"C{k}", "where": "the whole of the north-eastern fence beside the old railway"}
        )
        for k in range(1, 15)
    )
    score = scored(tmp_path, plan=PLAN.model_copy(update={"claims": claims}))
    assert overlaps(plot_claims(score)) == []
    assert [row.count for row in claims_data(score).rows][1:] == ["no walks, no misses"] * 13


def test_no_claim_and_no_prediction(tmp_path):
    trials = tuple(trial.model_copy(update={"claim": None}) for trial in PLAN.trials)
    score = scored(tmp_path, plan=PLAN.model_copy(update={"claims": (), "trials": trials}))
    assert overlaps(plot_claims(score)) == []
    rows = [{**row, "trial": str(37 + k), "gait": "run"} for k, row in enumerate(log_rows(PLAN))]
    with pytest.raises(UsageError, match="nothing to compare"):
        predicted_observed_data(scored(tmp_path, rows=rows))
