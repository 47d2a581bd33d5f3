"""A run of a site that walks have calibrated, against plain runs, against asking everywhere, and against what it promises."""

from __future__ import annotations

import math

import numpy as np
import pytest

import fencecast as fc
from estimate.calibrated_sites import GRID, PLACE_SPREAD, SHORT_YARD, SPREAD, calibrated_site, calibrated_text, one_point
from fencecast.estimate.calibrated import empty_tally, settled
from fencecast.estimate.intervals import joined, verdicts
from fencecast.estimate.posterior import Posterior, ends
from fencecast.findings.calibration import calibration_of
from fencecast.findings.runfacts import short_of_precision
from fencecast.kernels.crossing import SUM_PD
from fencecast.kernels.pack import pack_cells, pack_plan
from fencecast.site import parse_site

FOG = """
[[weather]]
name = "dense fog"
hours_per_year = 300
air_temperature_c = 5.0
relative_humidity = 0.99
ground_minus_air_k = -1.0
fog = "radiation"
clutter_k = 0.3
visibility_m = { dist = "uniform", low = 20.0, high = 80.0 }
"""
ROUGH = {"precision": 0.1, "max_crossings": 128}


def with_fog(gate: bool = False) -> str:
    """The short yard with a class in which looks are unsure; gate: with a size gate."""
    text = SHORT_YARD.read_text(encoding="utf-8") + FOG
    return text.replace("[decision]\n", "[decision]\nsize_gate = [0.45, 0]\n") if gate else text


@pytest.fixture(scope="module")
def yard():
    """A run of the calibrated yard in two classes."""
    return fc.run(calibrated_site(base=with_fog()), threads=2, **ROUGH)


@pytest.fixture(scope="module")
def tally():
    """Sums of the calibrated yard, 16 points in every cell, and Pd asked at all 25 values instead: (cells, 25, 4)."""
    site = calibrated_site()
    plan, cells = settled(pack_plan(site)), pack_cells(site, 1)
    which = np.arange(len(cells.weather))
    found = empty_tally(site, plan, cells)
    found.advance(plan, cells, which, 16, 1)
    dense = np.zeros((len(which), 25, 4))
    for first in range(0, 25, 7):
        at = np.minimum(np.arange(first, first + 7), 24)
        other = empty_tally(site, plan, cells)
        other.asked = other.asked._replace(ln_cycles_50=GRID[at].copy())
        other.advance(plan, cells, which, 16, 1)
        dense[:, at] = other._site(which).sum(axis=1) / other.crossings[:, None, None]
    return found, dense


def test_one_point_is_the_plain_run():
    """Catches: steps, posts, gate or nodes that differ from the integration's: in clear air, in fog, behind a gate."""
    base = with_fog(gate=True)
    plain = base.replace("cycles_50 = 2.0", "cycles_50 = 2.3").replace("correlation = 0.5", "correlation = 0.9")
    told = fc.run(parse_site(calibrated_text(base, cycles_50=2.3, mean_r=0.9, **one_point(2.3, 3))), threads=2, **ROUGH)
    want = fc.run(parse_site(plain), threads=2, **ROUGH)
    for name in ("pd", "pd_camera", "miss_share", "pd_low", "pd_high", "pd_year", "pd_year_high", "pd_fresh", "pd_distance"):
        assert np.nanmax(np.abs((told[name] - want[name]).values)) < 1e-5, name
    assert (told["crossings"] == want["crossings"]).all() and (told["verdict"] == want["verdict"]).all()


def test_seven_points_are_enough(tally):
    """Against asking at all 25 values: mean within 2e-4, ends within 1e-3. Catches: a spline in Pd, too narrow points."""
    found, dense = tally
    posterior, cells = found.posterior, np.arange(len(dense))
    table = posterior.table(found._site(cells).sum(axis=1) / found.crossings[:, None, None])
    for weight in (posterior.weight, posterior.place):
        means = [np.einsum("ik,cik->c", weight, each) for each in (table, dense)]
        assert np.max(np.abs(means[0] - means[1])) < 2e-4
        both = [ends(each.reshape(len(cells), -1), weight.ravel(), 0.95) for each in (table, dense)]
        assert np.max(np.abs(np.array(both[0]) - np.array(both[1]))) < 1e-3


def test_the_band_holds_as_much_as_it_says(tally):
    """Truths drawn from the posterior itself lie in the parameter band 95 times in 100: Pd of a place in the outer, the mean over
    normal shifts of such a place in the inner. Catches: ends of one tail only, ends of standard errors, the inner band where the
    outer is meant."""
    found, dense = tally
    kernel = np.exp(-0.5 * (np.subtract.outer(GRID, GRID) / math.sqrt(PLACE_SPREAD**2 - SPREAD**2)) ** 2)
    means = np.einsum("ij,cjk->cik", kernel / kernel.sum(axis=1, keepdims=True), dense)
    weights = found.posterior.weight, found.posterior.place
    for (low, high), weight, truth in zip(found.parameter_ends(0.95), weights, (means, dense)):
        inside = (truth >= low[:, None, None] - 1e-3) & (truth <= high[:, None, None] + 1e-3)
        held = np.einsum("ik,cik->c", weight, inside)
        assert 0.93 < held.mean() < 0.985 and held.min() > 0.9
    many, place = found.parameter_ends(0.95)
    held = np.einsum("ik,cik->c", found.posterior.place, (dense >= many[0][:, None, None]) & (dense <= many[1][:, None, None]))
    assert held.mean() < 0.85  # a place with a shift of its own lies outside the inner band far more often
    assert np.all(place[1] - place[0] > many[1] - many[0])
    pd = found.mean(SUM_PD)
    assert np.all((many[0] < pd) & (pd < many[1]))


def test_threads_change_no_bit(yard):
    """Catches: sums that go by who was first."""
    again = fc.run(calibrated_site(base=with_fog()), threads=1, **ROUGH)
    for name in yard.data_vars:
        one, two = yard[name].values, again[name].values
        assert np.array_equal(one, two, equal_nan=one.dtype.kind == "f"), name


def test_results_do_not_contradict_each_other(yard):
    """Catches: causes of another Pd, a camera alone better than all, a verdict by another band than the one that is printed."""
    pd, low, high = (yard[name].values for name in ("pd", "pd_low", "pd_high"))
    assert np.abs(yard["miss_share"].sum("cause").values + pd - 1.0).max() < 1e-9
    assert (yard["pd_camera"].max("camera").values <= pd + 1e-6).all()
    assert (yard["verdict"].values == verdicts(low, high, 0.90)).all()
    half = yard["pd_sampling_half"].values
    inner = verdicts(*joined(pd, yard["pd_parameter_low"].values, yard["pd_parameter_high"].values, half), 0.90)
    assert ((inner != "undecided") & (yard["verdict"].values == "undecided")).any()
    for name in ("pd_parameter", "pd_place"):
        assert (yard[f"{name}_low"].values >= low - 1e-9).all() and (yard[f"{name}_high"].values <= high + 1e-9).all()
    lengths = (yard["segment_end_m"] - yard["segment_start_m"]).values
    assert yard["pd_fence"].values == pytest.approx(pd @ lengths / lengths.sum(), abs=1e-12)
    assert np.all(yard["pd_fence_high"] - yard["pd_fence_low"] < (yard["pd_high"] - yard["pd_low"]).max("segment"))
    year = (3000.0 * pd[0] + 300.0 * pd[1]) / 3300.0
    assert yard["pd_year"].values == pytest.approx(year, abs=1e-12)
    assert (yard["pd_year_low"].values <= year).all() and (yard["pd_year_high"].values >= year).all()


def test_precision_is_that_of_the_crossings(yard):
    """Catches: a run that says it missed its precision, because walks left more open than any crossing could tell."""
    simulated, short, _, _ = short_of_precision(fc.Results(yard))
    assert (simulated, short) == (46, 0)
    assert (yard["pd_high"] - yard["pd_low"]).max() > 0.2


def test_what_it_rests_on_is_kept(yard):
    """Catches: results that do not say which walks they rest on, or that still call N50 a judgement."""
    facts = calibration_of(yard.attrs)
    assert facts["walks"] == 36 and facts["cycles_50"] == pytest.approx(2.6) and facts["dates"] == ["2026-11-29"]
    assert "until walk tests" not in yard.attrs["not_modelled"] and "from walks on this site" in yard.attrs["not_modelled"]


def test_spreads_of_the_file_are_not_drawn():
    """Catches: N50 drawn from [decision] and from the weights at once."""
    spread = calibrated_text().replace("cycles_50 = 2.6\n", "cycles_50 = { median = 2.6, sigma_ln = 0.3 }\n")
    plan = settled(pack_plan(parse_site(spread)))
    fixed = pack_plan(calibrated_site())
    assert plan.decision.drawn == 0 and plan.decision.cycles_50 == pytest.approx(2.6)
    for one, two in zip(plan.decision, fixed.decision):
        assert np.array_equal(one, two)


def test_ends_of_known_weights():
    """Against the normal law on a fine grid, and against one value. Catches: ends at the values instead of between them."""
    x = np.linspace(-4.0, 4.0, 161)
    low, high = ends(x[None], np.exp(-0.5 * x * x), 0.95)
    assert low[0] == pytest.approx(-1.95996, abs=2e-3) and high[0] == pytest.approx(1.95996, abs=2e-3)
    alone = ends(np.array([[0.2, 0.7, 0.9]]), np.array([0.0, 1.0, 0.0]), 0.95)
    assert [float(each[0]) for each in alone] == [0.7, 0.7]


def test_the_posterior_keeps_its_weights():
    """Catches: weights between the table's that say something else, or a correlation that loses its share."""
    posterior = Posterior.of(calibrated_site().calibration)
    assert posterior.fine_weight.sum(axis=0) == pytest.approx(posterior.weight.sum(axis=0))
    fine = np.linspace(GRID[0], GRID[-1], len(posterior.fine_weight))
    assert posterior.fine_weight.sum(axis=1) @ fine == pytest.approx(math.log(2.6), abs=1e-6)
    spread = math.sqrt(posterior.fine_weight.sum(axis=1) @ (fine - math.log(2.6)) ** 2)
    assert spread == pytest.approx(0.12, rel=0.01)
