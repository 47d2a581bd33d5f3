"""`Simulated` on steps typed by hand: cameras in the plan's order whatever the site's, noted weather, statures, threshold."""

import numpy as np
import pytest

from fencecast.prove.fit.crossings import Simulated
from fencecast.prove.fit.groups import group_walks
from fencecast.prove.walks import kinds
from fencecast.site import parse_site
from prove.fit.onestep import WALKERS, invented_crossings, invented_log
from prove.invented_walks import invented_plan

N50, R = np.array([1.8, 2.6, 4.0]), np.array([0.0, 0.3, 0.8])


@pytest.fixture
def asked(monkeypatch):
    """`simulate_walks` gives one step a camera, cameras turned round; what it was asked is kept."""
    calls = []

    def simulate(site, walks, weather, **how):
        calls.append((site, walks, weather, how))
        groups = asked_groups()
        cycles, gain = np.zeros((len(walks), 2, 2, 16)), np.zeros((len(walks), 2, 2, 16))
        cycles[..., 0] = invented_crossings(groups).cycles[:, None, ::-1]
        gain[..., 0] = 1.0
        empty = np.zeros((len(walks), 1))
        return kinds.Steps(cycles, gain, np.array([0, 1]), ("E", "W"), empty, np.zeros(1), np.ones((len(walks), 2)), np.zeros(1))

    monkeypatch.setattr(kinds, "simulate_walks", simulate)
    return calls


def asked_groups():
    plan = invented_plan(2)
    return group_walks(plan, [invented_log(plan, 2.6, 0.3, 5)], WALKERS)


def test_cameras_stand_in_the_plans_order(asked):
    """Catches: columns of the site's order taken for the plan's."""
    groups, plan = asked_groups(), invented_plan(2)
    made = Simulated(parse_site(plan.site_toml), groups, plan.marks)
    exact = invented_crossings(groups)
    seen = np.array([[1, 0], [0, 1], [1, 1], [0, 0], [-1, 1]], dtype=np.int8)
    for group in (0, 5, 11):
        assert made.camera_pd(group, N50) == pytest.approx(exact.camera_pd(group, N50), abs=1e-6)
        found = np.exp(made.log_likelihood(group, seen, N50, R, None))
        assert found == pytest.approx(np.exp(exact.log_likelihood(group, seen, N50, R, None)), abs=1e-6)
        chance = np.array([0.2, 0.0])
        found = np.exp(made.log_likelihood(group, seen, N50, R, chance))
        assert found == pytest.approx(np.exp(exact.log_likelihood(group, seen, N50, R, chance)), abs=1e-6)
        table = made.pattern_table(group, (0, 1), 2.6, 0.3)
        assert table == pytest.approx(exact.pattern_table(group, (0, 1), 2.6, 0.3), abs=1e-6)


def test_walks_are_simulated_as_they_were_walked(asked):
    groups, plan = asked_groups(), invented_plan(2)
    made = Simulated(parse_site(plan.site_toml), groups, plan.marks, from_fence=False, crossings=32)
    _, walks, weather, how = asked[0]
    assert [walk.stature_m for walk in walks] == [WALKERS[group.walker].stature_m for group in groups]
    assert {walk.clo for walk in walks} == {None, 1.5} and set(weather) == {"clear night"}
    assert how["from_fence"] is False and how["crossings"] == 32 and how["conditions"] == [{}] * len(groups)
    made.at_contrast(1.2)
    assert asked[1][0].decision.threshold_sigma.middle() == pytest.approx(6.0)
    assert asked[1][3] == how
