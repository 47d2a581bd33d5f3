"""A fit as a whole: what it takes from the plan and the logs, what it adds, and how often it holds the truth."""

import dataclasses
import math
from functools import partial

import numpy as np
import pytest

import fencecast as fc
from fencecast.errors import InputError, UsageError
from fencecast.findings.walkfit import fit_object
from fencecast.findings.walkfitwords import contrast_sentence
from fencecast.prove.fit.grid import Grid, Prior
from fencecast.prove.fit.groups import group_walks
from fencecast.prove.fit.likelihood import place_likelihoods, place_names
from fencecast.prove.fit.posterior import posterior
from fencecast.prove.fit.walkfit import Question, fit_walks
from fencecast.prove.walks.planfile import write_plan
from fencecast.site import parse_site
from prove.fit.onestep import (
    WALKERS,
    OneStep,
    invented_crossings,
    invented_fit,
    invented_fit_of,
    invented_log,
    without_simulation,
)
from prove.invented_walks import invented_plan


def test_the_fit_finds_what_the_log_was_made_with():
    fit = invented_fit(rounds=25, cycles_50=2.6, correlation=0.3)
    assert fit.cycles_50.low < 2.6 < fit.cycles_50.high and fit.cycles_50.sd_ln < 0.06
    assert fit.correlation.low < 0.3 < fit.correlation.high and not fit.correlation.hardly_known
    assert fit.contrast is None and fit.doubts == ()
    assert [name for name, _ in fit.without_place] == sorted(place.place for place in fit.question.plan.places)


def test_walkers_are_a_sample_too():
    """Two walkers leave 0.10 / sqrt(2) in ln N50 for anybody else, on both sides of the median."""
    fit = invented_fit()
    assert fit.walker_sd_ln == pytest.approx(0.10 / math.sqrt(2.0))
    low, high = fit.any_intruder
    known = fit.cycles_50
    assert low < known.low and high > known.high
    wider = math.hypot(known.sd_ln, fit.walker_sd_ln) / known.sd_ln
    assert math.log(high / known.median) == pytest.approx(wider * math.log(known.high / known.median))
    alone = invented_fit(kept=lambda walk: walk.walker == "A")
    assert alone.walker_sd_ln == pytest.approx(0.10)


def test_a_walker_of_one_walk_is_hardly_a_second_one():
    """35 walks and 1: the mean shift of 36 walks by people with sd 0.10 has sd 0.097, drawn here; two halves would have 0.071."""
    plan = invented_plan(3)
    log = invented_log(plan, 2.6, 0.3, 5)
    walks = tuple(dataclasses.replace(walk, walker="B" if walk.trial == 7 else "A") for walk in log.walks)
    fit = invented_fit_of(dataclasses.replace(log, walks=walks))
    people = 0.10 * np.random.default_rng(1).standard_normal((200_000, 2))
    shift = np.array([people[:, 0]] * 35 + [people[:, 1]]).mean(axis=0)
    assert fit.question.walks == 36 and shift.std() == pytest.approx(0.0972, abs=5e-4)
    assert fit.walker_sd_ln == pytest.approx(shift.std(), rel=0.01)
    assert f"{fit.walker_sd_ln:.3f} is left with 2" in fc.calibrated_text(fit)


def test_the_contrast_factor_joins_only_where_the_walks_tell_it():
    """N falls with the 0.6th power of the factor at some kinds and not at others: told apart, and N50 is the less certain."""
    plan = invented_plan(20)
    log = invented_log(plan, 2.6, 0.3, 5)

    class Some(OneStep):
        def at_contrast(self, factor):
            half = np.where(np.arange(len(self.cycles)) % 2 == 0, factor**-0.6, 1.0)[:, None]
            return Some(self.cycles * half)

    plain = invented_fit_of(log, plan=plan)
    known = invented_fit_of(log, plan=plan, crossings=lambda groups: Some(invented_crossings(groups).cycles))
    assert plain.contrast is None and plain.contrast_information == 0.0
    median, low, high = known.contrast
    assert low < 1.0 < high and 0.8 < median < 1.25 and high / low < 1.5
    assert known.cycles_50.sd_ln > plain.cycles_50.sd_ln


def test_the_calibrated_file_is_of_one_threshold():
    """`run` has the file's threshold: the file gets the very posterior that holds it, not the mean over thresholds."""
    log = invented_log(invented_plan(3), 2.6, 0.3, 5)
    plain = invented_fit_of(log)
    known = invented_fit_of(log, crossings=partial(invented_crossings, grazing=0.6))
    assert plain.contrast is None and known.contrast is not None
    assert known.cycles_50.sd_ln > 1.5 * plain.cycles_50.sd_ln  # N50 and factor are hard to tell apart here
    made, expected = fc.calibrated_text(known), fc.calibrated_text(plain)
    assert made.replace("; contrast threshold held as in this file", "") == expected != made
    held = known.at_the_files_threshold()
    assert held.cycles_50 == plain.cycles_50 and held.correlation == plain.correlation
    assert plain.at_the_files_threshold() is plain
    words = contrast_sentence(known)
    assert f"{plain.cycles_50.median:.2f} ({plain.cycles_50.low:.2f} to {plain.cycles_50.high:.2f})" in words
    assert fit_object(known)["contrast_factor"]["cycles_50_at_1"]["median"] == plain.cycles_50.median
    assert fit_object(known)["cycles_50"]["median"] == known.cycles_50.median
    assert fit_object(plain)["contrast_factor"]["cycles_50_at_1"] is None


def test_the_file_names_alarms_that_nobody_caused():
    log = invented_log(invented_plan(3), 2.6, 0.3, 5)
    assert "0.5 alarms of one camera an hour that nobody caused" in fc.calibrated_text(invented_fit_of(log, nuisance=0.5))
    assert "nobody caused" not in fc.calibrated_text(invented_fit())


def test_an_alarm_of_a_camera_that_sees_nothing_is_a_doubt_and_does_not_rule_the_fit():
    plan = invented_plan(6)
    log = invented_log(plan, 2.6, 0.3, 5)
    groups = group_walks(plan, [log], WALKERS)
    question = Question(plan, "0" * 64, (log,), WALKERS, parse_site(plan.site_toml), False, groups)
    cycles = invented_crossings(groups).cycles.copy()
    seen = next(k for k, group in enumerate(groups) if (group.seen[:, 1] == 1).sum() == 3)
    cycles[seen, 1] = 1e-4
    fit = fit_walks(question, Prior(), 0.0, OneStep(cycles), 20)
    assert fit.doubts == tuple((t, "E") for t, s in zip(groups[seen].trials, groups[seen].seen) if s[1] == 1)
    assert fit.cycles_50.low < 2.6 < fit.cycles_50.high
    assert fit_walks(question, Prior(), 30.0, OneStep(cycles), 20).doubts == ()


def test_public_function_reads_files_and_the_site_as_built(tmp_path, monkeypatch):
    without_simulation(monkeypatch)
    plan = invented_plan(2)
    (tmp_path / "plan.json").write_text(write_plan(plan), encoding="utf-8")
    log = invented_log(plan, 2.6, 0.3, 5)
    built = tmp_path / "built.toml"
    built.write_text(plan.site_toml.replace("aim_m = [24.0, 3.0]", "bearing_deg = 84\ndepression_deg = 9"), encoding="utf-8")
    fit = fc.walk_fit(tmp_path / "plan.json", [log], WALKERS, prior_median=2.4)
    assert fit.posterior.prior.median == 2.4 and fit.posterior.prior.spread == plan.prior_spread
    other = fc.walk_fit(plan, log, WALKERS, site=built)
    assert "bearing_deg = 84" in fc.calibrated_text(other)
    with pytest.raises(UsageError, match="no log is named"):
        fc.walk_fit(plan, [], WALKERS)
    dry = dataclasses.replace(log, walks=tuple(dataclasses.replace(walk, weather="fog") for walk in log.walks))
    with pytest.raises(InputError, match='has no weather class "fog"'):
        fc.walk_fit(plan, [dry], WALKERS)


@pytest.mark.slow
@pytest.mark.parametrize(("rounds", "spread"), [(3, 0.0), (10, 0.0), (3, 0.15), (10, 0.15)])
def test_intervals_hold_the_truth(rounds, spread):
    """Eighty logs: a 95 % interval that holds fewer than 70 would be one of 90 % or less (P 0.02 for the first alone).

    Catches: places' spread left out, a grid that cuts tails, an interval read off the wrong side.
    """
    plan, prior, grid = invented_plan(rounds), Prior(), Grid.about(2.0)
    held = r_held = 0
    for seed in range(80):
        groups = group_walks(plan, [invented_log(plan, 2.6, 0.3, 1000 + seed, spread)], WALKERS)
        ln = place_likelihoods(groups, [invented_crossings(groups)], grid)
        known = posterior(place_names(groups), ln, prior, grid)
        n50, r = known.cycles_50(), known.correlation()
        held += n50.low <= 2.6 <= n50.high
        r_held += r.low <= 0.3 <= r.high
    assert held >= 72 and r_held >= 70
