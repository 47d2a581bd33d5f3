"""What the prior allows: its draws, and a plan whose simulation cannot be made again."""

from __future__ import annotations

from dataclasses import replace
from types import SimpleNamespace

import numpy as np
import pytest

from fencecast.prove.score import prior
from fencecast.site import parse_site
from prove.invented_walks import invented_plan
from prove.score.scored_logs import curve_plan, cycles_of, pair_patterns

PLAN = curve_plan(invented_plan())
KINDS = list(PLAN.kinds[:3])
STEPS = SimpleNamespace(marks=("W", "E"))
BEFORE = prior.prior_of(parse_site(PLAN.site_toml))


@pytest.fixture
def by_curve(monkeypatch):
    """Patterns by the curve alone, in place of compiled steps."""
    asked = []

    def table(steps, row, cameras, cycles_50, correlation):
        assert cameras == [0, 1]
        asked.append((cycles_50, correlation))
        found = pair_patterns(cycles_of(PLAN, KINDS[row]), cycles_50, correlation)
        return np.array([found[name] for name in ("", "W", "E", "W+E")])

    monkeypatch.setattr(prior, "pattern_table", table)
    return asked


def test_draws_are_those_of_the_prior(by_curve):
    draws = prior.draws_of(PLAN, KINDS, STEPS, BEFORE)
    assert len(draws) == prior.N50_DRAWS * prior.R_DRAWS
    drawn = np.array(by_curve[len(KINDS) :: len(KINDS)])
    # The plan's prior: ln N50 normal about ln 2 with 0.5, the correlation uniform to 0.9.
    ln = np.log(drawn[:, 0])
    assert ln.mean() == pytest.approx(np.log(2.0), abs=1e-9) and 0.46 < ln.std() < 0.5
    assert drawn[:, 1].mean() == pytest.approx(0.45) and 0.0 < drawn[:, 1].min() < drawn[:, 1].max() < 0.9
    assert set(draws[0]) == {kind.kind for kind in KINDS} and set(draws[0]["K1"]) == {"", "W", "E", "W+E"}
    assert sum(draws[0]["K1"].values()) == pytest.approx(1.0)


def test_a_plan_of_another_version_is_not_judged_by_this_one(by_curve):
    other = [KINDS[0].model_copy(update={"patterns": {"": 0.25, "W": 0.25, "E": 0.25, "W+E": 0.25}}), *KINDS[1:]]
    assert prior.draws_of(PLAN, other, STEPS, BEFORE) is None
    assert prior.draws_of(PLAN, KINDS, STEPS, replace(BEFORE, correlation=0.0)) is None
