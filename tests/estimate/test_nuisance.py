"""Nuisance alarms a night: rates times probabilities, with encounters that were invented here."""

from __future__ import annotations

import json
import math
from dataclasses import replace

import numpy as np
import pytest
from scipy.stats import nbinom

from estimate.nuisance_sites import CAT, INSECT, invented, nuisance_site
from estimate.test_exposure import hour_classes
from fencecast.estimate.alarmcounts import alarm_counts
from fencecast.estimate.attributes import ATTRIBUTES
from fencecast.estimate.dataset import MEANINGS
from fencecast.estimate.exposure import exposure_of
from fencecast.estimate.nights import gamma_prior, gamma_quantile, lognormal_relative_variance, posterior, rate_sigma
from fencecast.estimate.nuisance import (
    ceiling_verdict,
    count_nights,
    night_counts,
    nuisance_verdict,
    operator_wait_s,
)
from fencecast.estimate.store import open_results, save_results
from fencecast.meteorology.load import classes_of
from kernels.kernel_sites import CAMERA, NIGHT
from meteorology.invented_year import invented_year

FOX = {"kind": "fox"}
QUIET = np.zeros(1)


def counted(site, p: float = 0.1, se: float = 0.0, noise=QUIET, seed: int | None = None):
    """The exposure and the counts of a site with described weather."""
    exposure = exposure_of(site, classes_of(site))
    return exposure, night_counts(site, exposure, invented(exposure, p, se, len(site.camera), seed), noise)


def test_bodies_are_encounters_times_chances():
    """Catches: activity that counts twice (once in the encounters, once in their probability), a class that takes another's
    numbers, segments that do not add up. Hedgehogs sleep below 5 C: two classes, in half of one they are about."""
    half = NIGHT | {"air_temperature_c": {"dist": "choice", "values": [0.0, 10.0]}}
    cold = NIGHT | {"name": "cold", "air_temperature_c": -5.0, "hours_per_year": 1000}
    site = nuisance_site({"kind": "hedgehog"}, weather=(half, cold), segment_length_m=10.0)
    exposure, found = counted(site, p=0.2)
    ways = 2.0 / math.pi * 10e-6 * 800.0 * 40.0
    counts = found.counts
    assert counts.by_class[0] == pytest.approx([0.5 * ways * 0.2, 0.0])
    assert counts.encounters[0] == pytest.approx(np.array([[0.5 * ways / 4] * 4, [0.0] * 4]))
    assert counts.p[0, 0] == pytest.approx(np.full(4, 0.2)) and np.isnan(counts.p[0, 1]).all()
    assert counts.by_segment[0].sum(axis=1) == pytest.approx(counts.by_class[0])
    assert counts.by_camera[0, 0] == pytest.approx(0.5 * counts.by_class[0])
    assert counts.year[0] == pytest.approx(0.75 * 0.5 * ways * 0.2)


def test_bursts_are_those_of_every_camera():
    """Catches: a camera's own alarms that do not add up to all, noise of one camera for another's, a camera without a rule that
    counts. The number of one insect camera was worked out beforehand: 0.99 a night at 0.16 K."""
    cameras = [CAMERA, CAMERA | {"mark": "C2"}, CAMERA | {"mark": "C3"}]
    clutter = math.sqrt(0.16**2 - 1.25 * 0.05**2)
    weather = NIGHT | {"air_temperature_c": 20.0, "clutter_k": clutter}
    site = nuisance_site(
        INSECT, weather=(weather,), camera=cameras, rule=({"kind": "line", "perimeter": "fence", "cameras": ["C1", "C2"]},)
    )
    _, found = counted(site, noise=np.array([0.25, 0.5, 9.0]))
    assert found.counts.by_camera[0, :, 0] == pytest.approx([0.99, 0.99, 0.0], abs=5e-3)
    assert found.counts.by_class[0] == pytest.approx(found.counts.by_camera[0].sum(axis=0))
    assert found.counts.by_class[1, 0] == pytest.approx(0.75 * (3000.0 / 365.25) / 24.0)


def test_what_decides_moves_bursts():
    """Catches: a key of [decision] that bursts do not hear of. Each change leaves fewer alarms, as it is meant to."""
    base = counted(nuisance_site(INSECT, weather=(NIGHT | {"air_temperature_c": 20.0},)))[1].year[0]
    for decision in (
        {"threshold_sigma": 8.0}, {"cycles_50": 3.0}, {"confirm": [5, 8]}, {"looks_per_s": 3.0}, {"size_gate": [0.45, 0.0]},
        {"size_gate": [0.0, 1.5]}, {"clutter_factor": 3.0},
    ):  # fmt: skip
        site = nuisance_site(INSECT, weather=(NIGHT | {"air_temperature_c": 20.0},), decision=decision)
        assert counted(site)[1].year[0] < 0.97 * base, decision


def test_more_is_never_fewer():
    """Metamorphic. Catches: a rate that is lost, chances with the wrong sign."""
    one = counted(nuisance_site(CAT, FOX, INSECT))[1]
    more = counted(nuisance_site({**CAT, "density_km2": 100.0}, FOX, INSECT))[1]
    assert more.counts.by_class[0] == pytest.approx(2.0 * one.counts.by_class[0])
    assert more.counts.by_class[1:] == pytest.approx(one.counts.by_class[1:])
    assert more.year[0] > one.year[0] and more.bad_year[0] >= one.bad_year[0]
    assert counted(nuisance_site(CAT, FOX, INSECT), p=0.3)[1].year[0] > one.year[0]


def test_a_cause_leaves_the_others_alone():
    """Catches: draws or rows of a stimulus that move when another is added."""
    few, more = counted(nuisance_site(CAT, INSECT))[1], counted(nuisance_site(CAT, INSECT, FOX))[1]
    assert np.array_equal(few.counts.by_class[:2], more.counts.by_class[:2])
    assert np.array_equal(few.factors[:, :2], more.factors[:, :2])


def test_the_year_of_nights():
    """Catches: one distribution of the mean, a class without its hours, sizes of another cause. Two classes by scipy's negative
    binomial, weights 3 to 1."""
    site = nuisance_site({**CAT, "bursts": 0.7}, weather=(NIGHT, NIGHT | {"name": "wet", "hours_per_year": 1000, "rain_mm_h": 9}))
    _, found = counted(site, p=0.9)
    means = found.counts.by_class[0]
    n = np.arange(len(found.distribution))
    wanted = 0.75 * nbinom.pmf(n, 0.7, 0.7 / (0.7 + means[0])) + 0.25 * nbinom.pmf(n, 0.7, 0.7 / (0.7 + means[1]))
    assert found.distribution == pytest.approx(wanted, abs=1e-8)
    assert found.distribution @ n == pytest.approx(found.year[0], abs=1e-6)
    assert found.bad_year[0] == np.searchsorted(np.cumsum(wanted), 0.95)
    assert found.bad.tolist() == [nbinom.ppf(0.95, 0.7, 0.7 / (0.7 + mean)) for mean in means]


def test_intervals_know_rates_and_encounters():
    """Catches: an error of encounters that is left out or adds up straight. One cause: a factor of 3 either way, and 40 segments
    whose errors add in squares."""
    plain, rough = (counted(nuisance_site(CAT, segment_length_m=1.0), se=se)[1] for se in (0.0, 0.2))
    assert plain.year[1:] == pytest.approx((plain.year[0] / 3.0, plain.year[0] * 3.0), rel=2e-3)
    exposure, _ = counted(nuisance_site(CAT, segment_length_m=1.0))
    error = 0.2 * math.sqrt(40.0) * exposure.encounters[0, 0] * math.hypot(0.75, 0.25)
    assert rough.year[2] - rough.year[0] == pytest.approx(math.hypot(2.0 * plain.year[0], 1.96 * error), rel=2e-3)


def test_recorded_nights_add_up_their_own_hours():
    """Catches: nights cut at midnight, a long night with as many alarms as a short one, an hour in another hour's class, nights
    that are dropped. Added up in plain Python, hour by hour and state by state."""
    year = invented_year(hours=24 * 40, missing=25)
    site = nuisance_site(CAT, INSECT)
    classes = hour_classes(year)
    exposure = exposure_of(site, classes, year)
    met = invented(exposure, p=0.3, seed=3)
    counts = alarm_counts(site, exposure, met, np.array([0.7]))
    armed = np.flatnonzero(year.armed)
    known = set(np.flatnonzero(year.counted).tolist())
    rates = dict.fromkeys(known, 0.0)
    for w, draws in enumerate(exposure.draws):
        chance = float(met.p[0, w] @ exposure.encounters[0]) / met.active_share[0, w]
        for k, hour in enumerate(draws.hour):
            share = classes[w].states.weight[k] / year.states.weight[year.states.hour == hour].sum()
            rates[int(hour)] += share * exposure.activity[0][w][k] * chance
    night_h = len(armed) / len({(hour + 12) // 24 for hour in armed.tolist()})
    nights: dict[int, list[int]] = {}
    for hour in armed.tolist():
        nights.setdefault((hour + 12) // 24, []).append(hour)
    wanted = []
    for hours in nights.values():
        there = [rates[hour] for hour in hours if hour in known]
        if there:
            wanted.append((sum(there) / len(there) * len(hours) / night_h, len(there) / len(hours)))
    assert counts.nights[:, 0] == pytest.approx([each[0] for each in wanted])
    assert counts.weight == pytest.approx([each[1] for each in wanted])
    assert counts.nights[:, 2] == pytest.approx([0.7 / 24.0 * len(hours) for hours in nights.values()][: len(wanted)])


def test_whole_nights_have_the_mean_of_their_hours():
    """Catches: weights of nights that do not add up. All hours known: recorded nights and classes give the same mean."""
    year = invented_year(hours=24 * 40, missing=0)
    site = nuisance_site(CAT, INSECT)
    classes = tuple(
        replace(each, hours_per_year=float(np.count_nonzero(np.isin(np.flatnonzero(year.counted), each.states.hour))))
        for each in hour_classes(year)
    )
    # Hours whose states lie in both classes would count in each.
    both = np.intersect1d(classes[0].states.hour, classes[1].states.hour)
    assert len(both) == 0
    exposure = exposure_of(site, classes, year)
    found = night_counts(site, exposure, invented(exposure, p=0.3, seed=3), QUIET)
    mean = found.counts.by_class @ exposure.share
    assert found.counts.year[0] == pytest.approx(mean[0], rel=1e-9)
    assert found.year[0] == pytest.approx(found.counts.year.sum())


def test_what_was_counted_on_site():
    """Catches: a prior that is forgotten, a count that moves another cause, one that moves classes apart, uneven nights taken
    for even ones. The Gamma distribution with the prior's mean and spread, as `nights` has it."""
    soak = ({"cause": "cat", "nights": 4, "alarms": 3}, {"cause": "cat", "nights": 3, "alarms": 2})
    site = nuisance_site(CAT, FOX, soak=soak)
    _, before = counted(nuisance_site(CAT, FOX), p=0.8)
    _, found = counted(site, p=0.8)
    prior = before.counts.year[0]
    after = posterior(gamma_prior(prior, lognormal_relative_variance(rate_sigma(3.0))), 5, 7.0, before.counts.sizes[0])
    rate = after[0] / after[1]
    assert found.counts.year[0] == pytest.approx(rate, rel=2e-2)  # the spread is that of 4,096 draws
    assert found.counts.year[1] == before.counts.year[1]
    assert found.counts.by_class[0] / before.counts.by_class[0] == pytest.approx(np.full(2, rate / prior), rel=2e-2)
    (said,) = found.soaks
    assert (said["nights"], said["alarms"], said["counted"]) == (7.0, 5, 5.0 / 7.0)
    assert said["assumed"] == pytest.approx(prior)
    ends = gamma_quantile(after, np.array([0.025, 0.975]))
    assert [said["rate_low"], said["rate_high"]] == pytest.approx(ends, rel=2e-2)
    assert np.quantile(found.factors[:, 0], [0.025, 0.975]) * said["rate"] == pytest.approx(ends, rel=2e-2)


def test_a_count_keeps_the_order_of_what_a_rate_may_be_off_by():
    """Draws of a rate after a count go up and down with those before it, and with no other's. Catches: draws of the cause's own
    place in the file where designs share draws by name, and two causes that go together."""
    site = nuisance_site(CAT, FOX, INSECT, soak=({"cause": "fox", "nights": 7, "alarms": 2},))
    exposure = exposure_of(site, classes_of(site))
    moved = replace(exposure, factors=exposure.factors[:, [1, 2, 0]])
    for each in (exposure, moved):
        found = night_counts(site, each, invented(each, 0.5), QUIET)
        before, after = each.factors[:, 1], found.factors[:, 1]
        assert np.array_equal(np.argsort(before), np.argsort(after)) and not np.allclose(before, after)
        assert after.mean() == pytest.approx(1.0, abs=1e-3)
        assert np.abs(np.corrcoef(np.log(found.factors[:, :3]), rowvar=False)[1, [0, 2]]).max() < 0.02


def test_what_was_counted_under_one_setting_holds_for_another():
    """A setting that lets half as many cats through has half as many alarms after the count as well. Catches: every setting
    pulled to the number that was counted under one of them."""
    site = nuisance_site(CAT, FOX, soak=({"cause": "cat", "nights": 7, "alarms": 5},))
    exposure, base = counted(site, p=0.8)
    other = night_counts(site, exposure, invented(exposure, p=0.4), np.zeros(1), base)
    assert other.counts.year == pytest.approx(0.5 * base.counts.year)
    assert np.array_equal(other.factors, base.factors) and other.soaks == base.soaks
    alone = night_counts(site, exposure, invented(exposure, p=0.4), np.zeros(1))
    assert alone.counts.year[0] > 1.2 * other.counts.year[0]


def test_a_count_cannot_change_what_cannot_be():
    """Catches: a division by zero where the site gives a cause no chance at all."""
    site = nuisance_site(CAT, soak=({"cause": "cat", "nights": 7, "alarms": 2},))
    _, found = counted(site, p=0.0)
    assert found.soaks[0]["rate"] == 0.0 and found.year == (0.0, 0.0, 0.0) and found.bad_year == (0, 0, 0)


@pytest.mark.parametrize(
    ("value", "ceiling", "word"),
    [
        ((2.0, 1.0, 4.0), 4.0, "met"), ((2.0, 1.0, 4.0), 3.9, "undecided"), ((2.0, 1.0, 4.0), 1.0, "undecided"),
        ((2.0, 1.0, 4.0), 0.9, "not met"), ((2.0, 1.0, 4.0), None, ""),
    ],
)  # fmt: skip
def test_ceilings(value, ceiling, word):
    """Catches: a ceiling that the mean alone meets, one that only counts when it is passed for sure."""
    assert ceiling_verdict(value, ceiling) == word


def test_the_worse_of_two_ceilings():
    """Catches: one ceiling that hides the other."""
    _, found = counted(nuisance_site(CAT), p=0.8)
    _, _, high = found.year
    for asked, word in (
        ({"nuisance_per_night": high + 0.1}, "met"), ({"nuisance_per_night": found.year[0]}, "undecided"),
        ({"nuisance_per_night": high + 0.1, "nuisance_bad_night": found.bad_year[0]}, "undecided"),
        ({"nuisance_per_night": found.year[0], "nuisance_bad_night": 10_000}, "undecided"),
        ({"nuisance_per_night": 1e-6, "nuisance_bad_night": 10_000}, "not met"), ({}, ""),
    ):  # fmt: skip
        assert nuisance_verdict(nuisance_site(CAT, requirement=asked), found) == word, asked


def test_the_operator():
    """Catches: alarms a night for alarms an hour, other alarms left out, a spread for a variance. 10 others an hour and 2 h
    nights with 4 alarms: 12 an hour of 2 min wait 80 s; half of that when all take as long; never when he cannot."""
    site = nuisance_site(CAT, nuisance={"other_alarms_per_h": 10.0}, weather=(NIGHT | {"hours_per_year": 730.5},))
    exposure, _ = counted(site)
    assert operator_wait_s(site, exposure, 4.0) == pytest.approx(80.0)
    alike = {"other_alarms_per_h": 10.0, "service_s": {"dist": "uniform", "low": 119.99, "high": 120.01}}
    assert operator_wait_s(nuisance_site(CAT, nuisance=alike), exposure, 4.0) == pytest.approx(40.0, rel=1e-6)
    assert math.isnan(operator_wait_s(site, exposure, 40.0))


def test_the_dataset_is_complete_and_survives_a_file(tmp_path):
    """Catches: a variable without a unit and meaning, an attribute that nobody explained, what a file changes."""
    site = nuisance_site(
        CAT, INSECT, {"kind": "branch", "at": {"points_m": [[16.0, 2.0]]}, "months": [6]}, segment_length_m=10.0,
        nuisance={"attempts_per_year": 2.0}, requirement={"nuisance_per_night": 500.0},
        soak=({"cause": "cat", "nights": 7, "alarms": 2},),
    )  # fmt: skip
    exposure = exposure_of(site, classes_of(site))
    found = count_nights(site, exposure, invented(exposure), QUIET, 0.9)
    assert {str(name) for name in found.variables} <= set(MEANINGS) and set(found.attrs) <= set(ATTRIBUTES)
    assert found["stimulus"].values.tolist() == ["cat", "insect", "branch", "sensor noise"]
    assert found["stimulus_family"].values.tolist() == ["body", "burst", "burst", "noise"]
    assert found["encounters_night"].dims == ("stimulus", "weather", "segment")
    assert np.isnan(found["encounters_night"].values[1:]).all() and np.isfinite(found["encounters_night"].values[0]).all()
    assert float(found["nuisance_night"].sum("stimulus")[0]) == pytest.approx(float(found["nuisance_total"][0]))
    assert float(found["nuisance_cause_year"].sum()) == pytest.approx(float(found["nuisance_year"]))
    assert 0.0 < float(found["true_share"]) < 1.0 and found.attrs["nuisance_met"] == "met"
    assert json.loads(found.attrs["nuisance_soaks"])[0]["cause"] == "cat" and "branch" in found.attrs["nuisance_notes"]
    full = found.assign(pd=0.0, pd_low=0.0, pd_high=0.0, verdict="meets", miss_share=0.0)
    full.attrs |= {"site_toml": site.text, "schema": 2}
    save_results(full, tmp_path / "results.nc")
    assert (
        open_results(tmp_path / "results.nc")
        .drop_vars(["pd", "pd_low", "pd_high", "verdict", "miss_share"])
        .identical(found.assign_attrs(site_toml=site.text, schema=2))
    )
