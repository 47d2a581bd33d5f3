"""The calibrated site file: what changed in it, and the projected posterior against the fine one."""

import math
from dataclasses import replace
from functools import cache

import numpy as np
import pytest

from fencecast.errors import InputError
from fencecast.prove.fit.calibrate import calibrated_text, project
from fencecast.prove.fit.grid import Prior
from fencecast.prove.fit.groups import group_walks
from fencecast.prove.fit.walkfit import Question, check_same_yard, fit_walks
from fencecast.site import parse_site
from prove.fit.onestep import WALKERS, invented_crossings, invented_log
from prove.invented_walks import SITE, invented_plan


def fitted(text=None, seed=5, n50=2.6):
    plan = invented_plan(10)
    log = invented_log(plan, n50, 0.3, seed)
    groups = group_walks(plan, [log], WALKERS)
    site = parse_site(text or plan.site_toml)
    return fit_walks(Question(plan, "0" * 64, (log,), WALKERS, site, False, groups), Prior(), 0.0, invented_crossings(groups), 20)


fit_of_the_plan = cache(fitted)


def test_the_file_has_the_posterior_and_nothing_else_changed():
    fit = fit_of_the_plan()
    text = calibrated_text(fit)
    old, new = SITE.read_text(encoding="utf-8").splitlines(), text.splitlines()
    changed = [(a, b) for a, b in zip(old, new) if a != b]
    assert changed == [
        ("cycles_50 = 2.0", f"cycles_50 = {float(f'{fit.cycles_50.median:.4g}')}"),
        ("encounter_correlation = 0.5", f"encounter_correlation = {round(fit.correlation.mean, 3)}"),
    ]
    site = parse_site(text)
    assert site.calibration.walks == 120 and site.calibration.places == 6 and site.calibration.walkers == 2
    assert site.calibration.dates == ("2026-11-29", "2026-11-30")
    assert site.calibration.median_cycles_50 == pytest.approx(fit.cycles_50.median, rel=0.01)
    assert site.calibration.mean_correlation == pytest.approx(fit.correlation.mean, abs=1e-6)
    low, high = fit.any_intruder
    assert site.calibration.cycles_50_low == pytest.approx(low, rel=1e-3) and high > fit.cycles_50.high


def test_a_rehearsal_stays_one_in_the_file():
    """Catches: a site calibrated by walks that nobody walked, whose runs tell of days and people as if they had."""
    fit = fit_of_the_plan()
    assert not parse_site(calibrated_text(fit)).calibration.rehearsal
    logs = [replace(log, rehearsal=True) for log in fit.question.logs]
    simulated = replace(fit, question=replace(fit.question, logs=tuple(logs)))
    assert parse_site(calibrated_text(simulated)).calibration.rehearsal


def test_the_projection_keeps_means_and_adds_the_walkers_variance():
    fit = fit_of_the_plan()
    grid = project(fit)
    known = fit.cycles_50
    assert grid.weight.sum() == pytest.approx(1.0, abs=1e-12) and grid.weight_place.sum() == pytest.approx(1.0, abs=1e-12)
    rows = grid.weight.sum(axis=1)
    mean = rows @ grid.ln_cycles_50
    assert mean == pytest.approx(known.mean_ln, abs=2e-6)
    sd = math.sqrt(rows @ (grid.ln_cycles_50 - mean) ** 2)
    assert sd == pytest.approx(math.hypot(known.sd_ln, fit.walker_sd_ln), rel=0.02)
    assert grid.weight.sum(axis=0) @ np.array([0.0, 0.3, 0.6, 0.9]) == pytest.approx(fit.correlation.mean, abs=1e-6)
    # N50 and correlation are not independent, and the projection keeps that too.
    points, joint = fit.posterior.grid, fit.posterior.joint
    both = (joint * np.outer(points.ln_points, points.r_points)).sum()
    assert (grid.weight * np.outer(grid.ln_cycles_50, [0.0, 0.3, 0.6, 0.9])).sum() == pytest.approx(both, abs=5e-6)
    far, place = fit.posterior.of_unwalked_place()
    wide = math.sqrt(place @ (far - place @ far) ** 2 + fit.walker_sd_ln**2)
    of_place = math.sqrt(grid.weight_place @ (grid.ln_cycles_50 - grid.weight_place @ grid.ln_cycles_50) ** 2)
    assert of_place == pytest.approx(wide, rel=0.03) and of_place > sd


def test_how_much_places_differ_is_in_the_file():
    """Against the fine posterior's variance of a place's shift. Catches: one spread where several are open, or the prior's."""
    fit = fit_of_the_plan()
    table = parse_site(calibrated_text(fit)).calibration
    assert table.place_spreads == fit.posterior.spreads and sum(table.weight_spread) == pytest.approx(1.0)
    rows, alone, at = np.sum(table.weight, axis=1), np.array(table.weight_place), np.array(table.ln_cycles_50)
    more = alone @ (at - alone @ at) ** 2 - rows @ (at - rows @ at) ** 2
    assert np.dot(table.weight_spread, np.square(table.place_spreads)) == pytest.approx(more, rel=0.1)


def test_what_the_walks_do_not_say_is_in_the_file():
    """A log without a miss: N50 from above alone. Catches: a run that prints the prior's lower end as a result."""
    fit = fit_of_the_plan()
    table = parse_site(calibrated_text(fit)).calibration
    assert (table.only_from_above, table.only_from_below) == (fit.cycles_50.only_from_above, fit.cycles_50.only_from_below)
    assert table.correlation_hardly_known == fit.correlation.hardly_known and not table.only_from_above
    easy = fitted(n50=0.3)
    table = parse_site(calibrated_text(easy)).calibration
    assert easy.cycles_50.only_from_above and table.only_from_above and not table.only_from_below
    assert easy.correlation.hardly_known and table.correlation_hardly_known


def test_a_spread_of_the_two_keys_goes_and_comments_stay():
    text = SITE.read_text(encoding="utf-8").replace(
        "cycles_50 = 2.0\n",
        "cycles_50 = { dist = 'lognormal', median = 2.0, sigma_ln = 0.2 } # a judgement\nmin_pixels = 3 # own\n",
    )
    found = calibrated_text(fitted(text))
    assert "# a judgement\nmin_pixels = 3 # own\n" in found and "lognormal" not in found
    assert parse_site(found).decision.cycles_50.is_fixed


def test_a_second_calibration_replaces_the_first():
    once = calibrated_text(fit_of_the_plan())
    twice = calibrated_text(fitted(once, seed=6))
    assert twice.count("[calibration]") == 1 and twice != once
    assert twice.count("fencecast walk fit") == 1


def test_a_site_without_a_decision_gets_one():
    text = SITE.read_text(encoding="utf-8").replace("[decision]\ncycles_50 = 2.0\nencounter_correlation = 0.5\n", "")
    assert "[decision]" not in text
    assert parse_site(calibrated_text(fitted(text))).decision.cycles_50.is_fixed


def test_another_yard_is_refused_with_all_that_differs():
    own = parse_site(SITE.read_text(encoding="utf-8"))
    turned = parse_site(SITE.read_text(encoding="utf-8").replace("aim_m = [24.0, 3.0]", "bearing_deg = 85\ndepression_deg = 9"))
    check_same_yard(own, turned)
    text = SITE.read_text(encoding="utf-8")
    other = parse_site(
        text.replace("[46.0, 0.0]]", "[47.0, 0.0]]").replace("offset_m = 1.5", "offset_m = 2").replace('"E"', '"S"')
    )
    with pytest.raises(InputError) as caught:
        check_same_yard(own, other)
    words = str(caught.value)
    assert "fences ([[perimeter]]) are not those of the plan" in words and "rules ([[rule]])" in words
    assert "cameras are W, S: the plan has W, E" in words
