"""Alarms a night of designs side by side: what designs share leaves the difference, what they differ in stays."""

from __future__ import annotations

import dataclasses

import numpy as np
import pytest

import fencecast as fc
from decide.compare.two_designs import site_of_table
from estimate.nuisance_sites import CAT, INSECT, invented, nuisance_site
from fencecast.decide.compare.nightalarms import (
    AlarmDifference,
    alarm_difference,
    alarm_verdict,
    alarms_of_designs,
    check_nuisance_margin,
)
from fencecast.decide.compare.variants import Variant
from fencecast.errors import UsageError
from fencecast.estimate.options import RunOptions
from fencecast.estimate.results import Results
from fencecast.findings.compare import compare_blocks, compare_object
from fencecast.meteorology.load import classes_of
from statistical.trial import base


def designs(*sites):
    """Their alarms; bursts alone need no plan."""
    options = RunOptions.of(sites[0], None, 0.5, 64, 1, None)
    return alarms_of_designs(sites, [classes_of(site) for site in sites], [None] * len(sites), options, None, None)


@pytest.fixture
def met(monkeypatch):
    """Encounters that were never simulated: chances (p, scatter of the scramblings) of one design after the other."""
    from fencecast.estimate import encounters as room
    from fencecast.estimate.exposure import exposure_of

    asked = []

    def pretend(site, bodies, seed, classes, plan, *points, **_):
        p, scatter = asked.pop(0)
        found = invented(exposure_of(site, classes), p, cameras=len(site.camera))
        each = found.p[..., None] * (1.0 + np.asarray(scatter))
        return dataclasses.replace(found, p_scrambling=each)

    monkeypatch.setattr(room, "simulate_encounters", pretend)
    return asked.extend


def test_equal_designs_differ_by_exactly_nothing():
    """Catches: draws of the rates that depend on a design's place in the list."""
    one, same = designs(*[nuisance_site(INSECT, {"kind": "web"})] * 2)
    for weather in (None, 0, 1):
        found = alarm_difference(one, same, 0.95, weather)
        assert found.difference == (0.0, 0.0, 0.0) and found.change == (0.0, 0.0, 0.0)
        assert alarm_verdict(found, 0.0) == "equivalent"


def test_one_cause_changes_by_a_share_that_no_rate_can_blur():
    """Insects last lognormally, median 0.35 s, sigma 0.6: three looks of five a second hold for 0.28349 of them, five for 0.05918
    (simulated apart), 79.1 % fewer, whatever their rate is. Catches: rates drawn anew for the second design."""
    first, other = designs(nuisance_site(INSECT), nuisance_site(INSECT, decision={"confirm": [5, 8]}))
    found = alarm_difference(first, other, 0.95)
    assert found.change == pytest.approx((0.05918 / 0.28349 - 1.0,) * 3, abs=2e-3)
    assert found.difference[1] < 2.0 * found.difference[0] < 0.0  # the rate itself is uncertain by a factor of three
    assert alarm_verdict(found, 0.1) == "fewer" and alarm_verdict(alarm_difference(other, first, 0.95), 0.1) == "more"


def test_rates_are_matched_by_the_name_of_the_stimulus():
    """The first's first stimulus is missing in the other design. Catches: draws of rates matched by place, so that a cause of the
    other design has those of another one, and a difference that could be of either sign."""
    first, other = designs(nuisance_site(INSECT, {"kind": "web"}), nuisance_site({"kind": "web"}))
    found = alarm_difference(first, other, 0.95)
    insects = first.nights.counts.year[0]
    draws = first.nights.factors[:, 0] * insects
    assert found.difference[0] == pytest.approx(-insects)
    assert found.difference[1:] == pytest.approx((-np.quantile(draws, 0.975), -np.quantile(draws, 0.025)))


def test_encounters_leave_open_how_their_difference_scatters(met):
    """Two designs whose scramblings go up and down together differ for certain; where they go each its own way, by Student's t
    (2.3646 with 7 degrees of freedom) of the eight differences, the share by that of the other minus half of the base. Catches:
    errors of two counts added up, or left out; a share whose base is taken for known; a normal distribution of eight."""
    up = np.array([0.3, -0.3, 0.1, -0.1, 0.2, -0.2, 0.05, -0.05])
    site = nuisance_site(CAT | {"per_night_100m": 3.0}, nuisance={"uncertainty": 1.0})
    met([(0.2, up), (0.1, up), (0.1, -up)])
    base, same, own = designs(site, site, site)
    cats = base.nights.counts.year[0]
    half = 2.364624 * cats * np.array([(0.5 * up - up).std(ddof=1), (-0.5 * up - up).std(ddof=1)]) / np.sqrt(8)
    of_share = 2.364624 * np.array([0.0, (-0.5 * up - 0.5 * up).std(ddof=1)]) / np.sqrt(8)
    for other, expected, share in zip((same, own), half, of_share):
        found = alarm_difference(base, other, 0.95)
        assert found.difference == pytest.approx((-0.5 * cats, -0.5 * cats - expected, -0.5 * cats + expected))
        assert found.change == pytest.approx((-0.5, -0.5 - share, -0.5 + share))


def test_a_count_on_site_holds_for_both_designs():
    """Counted under the first: no alarm of insects in 30 nights. Catches: the same count taken once more under the other design,
    which would make its fewer alarms hardly fewer."""
    soak = ({"cause": "insect", "nights": 30.0, "alarms": 0},)
    plain = designs(nuisance_site(INSECT), nuisance_site(INSECT, decision={"confirm": [5, 8]}))
    counted = designs(nuisance_site(INSECT, soak=soak), nuisance_site(INSECT, decision={"confirm": [5, 8]}, soak=soak))
    assert counted[0].nights.counts.year[0] < 0.5 * plain[0].nights.counts.year[0]
    changes = [alarm_difference(*pair, 0.95).change[0] for pair in (plain, counted)]
    assert changes[1] == pytest.approx(changes[0], abs=1e-3)


def test_verdicts_by_the_interval_of_the_change():
    def verdict(low, high):
        return alarm_verdict(AlarmDifference((0.0, 0.0, 0.0), (0.5 * (low + high), low, high)), 0.1)

    pairs = ((-0.1, 0.1), (-0.3, -0.05), (0.02, 0.4), (-0.2, 0.05), (-0.11, -0.09))
    assert [verdict(*pair) for pair in pairs] == ["equivalent", "fewer", "more", "not distinguishable", "fewer"]
    from_none = AlarmDifference((0.5, 0.1, 0.9), (float("nan"),) * 3)
    assert alarm_verdict(from_none, 0.1) == "more"


def test_a_comparison_says_the_alarms_of_its_designs():
    """Catches: alarms that the file of a comparison lacks, a table or object with other numbers, nuisance alarms said to be left
    out beside their number, a comparison that asks for stimuli which one design does not name."""
    table = base() | {"stimulus": [{"kind": "insect", "active": {"air_temperature_c": [-50.0, 60.0]}}]}
    designs = [Variant("now", site_of_table(table)), Variant("later", site_of_table(table | {"decision": {"confirm": [5, 8]}}))]
    results = Results(fc.compare(designs, precision=0.5, max_crossings=16, nuisance_margin=0.2))
    assert results.attrs["nuisance_margin"] == 0.2 and str(results.at("alarms_verdict_year", compared=0)) == "fewer"
    said = compare_object(results, [])
    found = said["comparisons"][0]["nuisance"]
    assert found["year"]["change"] == pytest.approx(0.05918 / 0.28349 - 1.0, abs=2e-3)
    assert found["year"]["base"] == said["designs"][0]["nuisance_per_night"] == float(results.at("alarms_year", variant=0))
    assert [each["verdict"] for each in found["classes"]] == ["fewer"] * len(found["classes"])
    text = " ".join(str(getattr(block, "text", block)) for block in compare_blocks(results, ["here/compare.nc"], []))
    assert "Nuisance alarms: later has " in text and " a night" in text and "79 % fewer (79 to 79 %) than now." in text
    assert "later compared with now: nuisance alarms a night" in text and "Nuisance alarms (animals" not in text
    bare = fc.compare([designs[0], Variant("none", site_of_table(base()))], precision=0.5, max_crossings=16)
    assert compare_object(Results(bare), [])["comparisons"][0]["nuisance"] is None and "alarms_year" not in bare


def test_a_margin_is_a_share():
    with pytest.raises(UsageError, match="nuisance margin 10 is not allowed: a share"):
        check_nuisance_margin(10.0)
