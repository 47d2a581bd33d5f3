"""Walks of a calibrated site: its posterior is the prior, and no log counts twice."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest

from fencecast.errors import InputError
from fencecast.findings.walkfit import fit_blocks, fit_object
from fencecast.prove.fit.calibrate import calibrated_text
from fencecast.prove.fit.earlier import prior_of_fit, wide_prior
from fencecast.prove.fit.grid import Grid, Prior, correlation_weights, mean_sd
from fencecast.prove.fit.groups import group_walks
from fencecast.prove.fit.walkfit import Question, fit_walks
from fencecast.prove.walks.prior import prior_of
from fencecast.site import parse_site
from prove.fit.onestep import WALKERS, invented_crossings, invented_fit, invented_log
from prove.invented_walks import invented_plan

FIRST = invented_fit()
CALIBRATED = parse_site(calibrated_text(FIRST))
PLAN = invented_plan()


def question_of(log, site=CALIBRATED):
    return Question(PLAN, "0" * 64, (log,), WALKERS, site, True, group_walks(PLAN, [log], WALKERS))


LATER = invented_log(PLAN, 2.6, 0.3, 11, day=30)


def fitted(question):
    return fit_walks(question, prior_of_fit(question), 0.0, invented_crossings(question.groups), 20)


def test_the_posterior_of_the_file_is_the_prior_of_the_plan():
    """Catches: a median that is not the fit's, a correlation still uniform, nodes that do not add up."""
    before = prior_of(CALIBRATED)
    known = FIRST.cycles_50
    assert before.calibrated and before.median == pytest.approx(known.median, rel=0.01)
    assert before.spread == pytest.approx(math.hypot(known.sd_ln, FIRST.walker_sd_ln), rel=0.02)
    assert before.correlation == pytest.approx(FIRST.correlation.mean, abs=0.01)
    assert 0.7 * FIRST.correlation.sd < before.correlation_sd < 1.3 * FIRST.correlation.sd
    assert before.weight.shape == (len(before.cycles_50), len(before.r)) and before.weight.sum() == pytest.approx(1.0)
    assert before.precision[0, 0] == pytest.approx(before.spread**-2) and all(0.0 <= r <= 0.9 for r in before.r_nodes)
    plain = prior_of(parse_site(PLAN.site_toml))
    assert not plain.calibrated and (plain.median, plain.spread, plain.r_nodes) == (2.0, 0.5, (0.15, 0.45, 0.75))


def test_equal_draws_have_the_moments_of_the_prior():
    before = prior_of(CALIBRATED)
    drawn = np.array(before.equal_draws(40, 20))
    assert np.log(drawn[:, 0]).mean() == pytest.approx(math.log(before.median), abs=0.02)
    assert np.log(drawn[:, 0]).std() == pytest.approx(before.spread, rel=0.1)
    assert drawn[:, 1].mean() == pytest.approx(before.correlation, abs=0.05)
    alike = before.weight * np.array([1.0, 0.0, 0.0, 0.0])
    assert max(r for _, r in replace(before, weight=alike / alike.sum()).equal_draws(5, 5)) < 0.3


def test_a_fit_of_new_walks_begins_where_the_earlier_ended():
    """Between both logs by their precisions; narrower than either alone."""
    later = fitted(question_of(LATER))
    alone = invented_fit_of(LATER)
    low, high = sorted((FIRST.cycles_50.median, alone.cycles_50.median))
    assert low - 0.02 <= later.cycles_50.median <= high + 0.02
    assert later.cycles_50.sd_ln < min(FIRST.cycles_50.sd_ln, alone.cycles_50.sd_ln)
    assert (
        later.correlation.prior_sd == pytest.approx(FIRST.correlation.sd, rel=0.1) and later.correlation.prior_sd < uniform_sd()
    )
    made = parse_site(calibrated_text(later)).calibration
    assert made.walks == FIRST.question.walks + 36 and len(made.dates) == 2
    assert set(made.log_sha256) == {LATER.sha256, FIRST.question.logs[0].sha256} == set(fit_object(later)["log_sha256"])
    assert "as 36 earlier walks left them" in made.prior and "uniform" not in made.prior
    said = " ".join(str(block) for block in fit_blocks(later))
    assert "what 36 earlier walks left" in said and "Odd: [calibration]" not in said
    assert fit_object(later)["prior"]["earlier_walks"] == 36


def invented_fit_of(log):
    question = question_of(log, parse_site(PLAN.site_toml))
    return fitted(question)


def uniform_sd():
    grid = Grid.about(2.0)
    return mean_sd(grid.r_points, correlation_weights(grid, Prior()))[1]


def test_a_log_that_is_in_the_calibration_is_refused():
    log = FIRST.question.logs[0]
    with pytest.raises(
        InputError, match=r"log-0.csv .* is in \[calibration\] already and would count twice; type a log of other"
    ):
        prior_of_fit(question_of(log))
    with pytest.raises(InputError, match="twice"):
        prior_of_fit(question_of(log), spread=0.5)  # the median would still be the log's
    typed = prior_of_fit(question_of(log), 2.0, 0.5)
    assert typed == Prior(2.0, 0.5) and typed.earlier is None


def test_the_same_walks_saved_again_are_said():
    again = replace(FIRST.question.logs[0], sha256="f" * 64)
    said = " ".join(str(block) for block in fit_blocks(fitted(question_of(again))))
    assert "Odd: [calibration] holds walks of 2026-11-29 too" in said


def test_a_plan_of_a_calibrated_site_keeps_the_calibration_whatever_site_is_simulated():
    plan = PLAN.model_copy(update={"site_toml": CALIBRATED.text, "prior_spread": 0.1, "prior_median": 2.6})
    as_built = replace(question_of(FIRST.question.logs[0], parse_site(PLAN.site_toml)), plan=plan)
    with pytest.raises(InputError, match="twice"):
        prior_of_fit(as_built)
    # Logs that are compared with each other are not pulled together.
    assert wide_prior(as_built) == Prior(2.6, 0.5)
