"""Slopes of the mean Pd: the plan that is changed is the plan of a site that was written so."""

from __future__ import annotations

import numpy as np
import pytest

from fencecast.estimate.dependence import with_clutter, with_n50, with_threshold
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
