"""Slopes of the mean Pd: the plan that is changed is the plan of a site that was written so."""

from __future__ import annotations

import numpy as np
import pytest
import xarray as xr

from fencecast.estimate.dependence import add_dependence, with_clutter, with_n50, with_threshold
from fencecast.estimate.simulate import advance, new_tally
from fencecast.findings.dependence import Dependence, dependence_sentence
from fencecast.kernels.crossing import SUM_PD
from fencecast.kernels.draw import quantile
from fencecast.kernels.pack import pack_cells, pack_plan
from fencecast.kernels.types import CLUTTER_K
from kernels.kernel_sites import NIGHT, make_site

CLUTTERS = {
    "fixed": (0.4, 0.44),
    "uniform": ({"dist": "uniform", "low": 0.2, "high": 0.9}, {"dist": "uniform", "low": 0.22, "high": 0.99}),
    "normal": (
        {"dist": "normal", "mean": 0.5, "sd": 0.2, "low": 0.1, "high": 1.0},
        {"dist": "normal", "mean": 0.55, "sd": 0.22, "low": 0.11, "high": 1.1},
    ),
    "lognormal": ({"dist": "lognormal", "median": 0.4, "sigma_ln": 0.5}, {"dist": "lognormal", "median": 0.44, "sigma_ln": 0.5}),
    "triangular": (
        {"dist": "triangular", "low": 0.1, "mode": 0.3, "high": 0.9},
        {"dist": "triangular", "low": 0.11, "mode": 0.33, "high": 0.99},
    ),
    "choice": (
        {"dist": "choice", "values": [0.1, 0.9], "weights": [2, 1]},
        {"dist": "choice", "values": [0.11, 0.99], "weights": [2, 1]},
    ),
}


@pytest.mark.parametrize("kind", CLUTTERS)
def test_scaled_clutter_is_the_clutter_of_a_site_that_has_it(kind):
    """Catches: a number of a distribution that is not scaled, values that two distributions share scaled twice."""
    before, after = CLUTTERS[kind]
    scaled = with_clutter(pack_plan(make_site(weather=[NIGHT | {"clutter_k": before}])), 1.1).weather
    written = pack_plan(make_site(weather=[NIGHT | {"clutter_k": after}])).weather
    for u in (0.01, 0.3, 0.5, 0.77, 0.99):
        one, other = (quantile(w.quantity[0, CLUTTER_K], w.choice, u) for w in (scaled, written))
        assert one == pytest.approx(other, rel=1e-12)


def mean_pd(plan, site) -> float:
    cells = pack_cells(site, 7)
    tally = new_tally(len(cells.weather), len(site.camera), replicates=1)
    advance(plan, cells, tally, np.arange(len(cells.weather)), 8, 1)
    return float(np.mean(tally.mean(SUM_PD)))


@pytest.mark.parametrize(
    ("change", "table"),
    [
        (with_n50, {"decision": {"cycles_50": 2.2}}),
        (with_threshold, {"decision": {"threshold_sigma": 5.5}}),
        (with_clutter, {"weather": [NIGHT | {"clutter_k": 0.44}]}),
    ],
)
def test_a_changed_plan_gives_the_pd_of_a_changed_site(change, table):
    """On the same crossings. Catches: a factor that reaches another number, or only some of the cameras."""
    base = {"weather": [NIGHT | {"clutter_k": 0.4}]}
    site, changed = make_site(**base), make_site(**{**base, **table})
    there = mean_pd(change(pack_plan(site), 1.1), site)
    assert there == pytest.approx(mean_pd(pack_plan(changed), changed), abs=1e-9)
    assert there != mean_pd(pack_plan(site), site)


def slopes(n50: float, clutter: float, threshold: float, netd: float) -> dict[str, float]:
    return {"n50": n50, "clutter": clutter, "threshold": threshold, "netd": netd}


def test_the_sentence_names_what_is_largest():
    """Catches: N50 called the whole answer where clutter moves as much (heavy rain once said so), a class in two groups."""
    rain, night = Dependence("heavy rain", slopes(-0.12, -0.2, -0.1, -0.01)), Dependence("night", slopes(-0.1, -0.009, 0.0, 0.0))
    said = dependence_sentence([rain, night])
    assert said.startswith("Heavy rain: clutter moves the mean Pd most, by −0.019 for 10 % more; N50 comes next, by −0.011.")
    assert "Night: geometry and N50 are nearly the whole answer" in said and said.count("eavy rain") == 1
    edge = dependence_sentence([Dependence("night", slopes(-0.1, -0.011, 0.0, 0.0))])
    assert "nearly the whole answer" not in edge
    assert "by less than 0.001" in dependence_sentence([Dependence("blind", slopes(0.0, 0.0, 0.0, 0.0))])


def test_what_intervals_cannot_tell_apart_is_not_ranked():
    """Intervals of 0.03 to each side, by hand: 0.20 and 0.15 meet, 0.20 and 0.13 do not. Catches: 'most' for the larger of two
    that are not apart; a slope whose interval holds 0 called the next."""
    errors = slopes(0.03, 0.03, 0.03, 0.03)
    close = dependence_sentence([Dependence("rain", slopes(-0.15, -0.2, -0.1, -0.01), errors)], closing=False)
    assert close == "Rain: cannot tell whether clutter or N50 moves the mean Pd most."
    apart = dependence_sentence([Dependence("rain", slopes(-0.02, -0.2, -0.13, -0.01), errors)], closing=False)
    assert apart.startswith("Rain: clutter moves the mean Pd most") and "the threshold comes next" in apart
    alone = dependence_sentence([Dependence("rain", slopes(-0.029, -0.2, 0.0, -0.01), errors)], closing=False)
    assert "comes next" not in alone
    nothing = dependence_sentence([Dependence("rain", slopes(-0.02, -0.02, -0.01, -0.01), errors)], closing=False)
    assert "cannot tell" in nothing


def test_the_interval_of_a_slope_holds_what_more_crossings_say():
    """Sixty seeds of one small site against the mean of all: intervals of 95 % hold it in 54 or more (fewer has chance 0.03 even
    at exactly 95 %, and halves of a net make them wider), and they are not ten times too wide. Catches: a standard deviation for
    the error of a mean, halves that are the same points."""
    site = make_site(weather=[NIGHT | {"clutter_k": 0.6}])
    plan = pack_plan(site)
    found = []
    for seed in range(60):
        cells = pack_cells(site, seed)
        results = xr.Dataset(coords={"weather": ["night"]}, attrs={"confidence": 0.95})
        results["segment_start_m"], results["segment_end_m"] = ("segment", cells.start_m), ("segment", cells.end_m)
        add_dependence(results, plan, cells, np.ones(len(cells.weather), dtype=bool), 1)
        found.append([float(results[f"dpd_dln_n50{end}"].values[0]) for end in ("", "_low", "_high")])
    mean, low, high = np.array(found).T
    truth = mean.mean()
    assert np.sum((low <= truth) & (truth <= high)) >= 54
    assert np.median(high - low) < 10.0 * 2.0 * 1.96 * mean.std()
