"""Re-tests: the short list, what it sees against simulation, and logs that have moved or have not."""

import dataclasses
import math
from types import SimpleNamespace

import numpy as np
import pytest

from fencecast.errors import UsageError
from fencecast.prove.fit.again import LIMIT, _chances, _moved, check_changed, in_order, judge_again
from fencecast.prove.fit.grid import Prior
from fencecast.prove.fit.groups import group_walks
from fencecast.prove.fit.information import groups_of_kinds, kinds_to_walk
from fencecast.prove.fit.walkfit import Question
from fencecast.site import parse_site
from prove.fit.onestep import WALKERS, invented_crossings, invented_log
from prove.invented_walks import invented_plan


def judged(logs, changed=()):
    plan = invented_plan(3)
    question = Question(plan, "0" * 64, tuple(logs), WALKERS, parse_site(plan.site_toml), False, ())
    per_log = [group_walks(plan, [log], WALKERS) for log in in_order(logs)]
    kinds = kinds_to_walk(plan)
    flat = [group for groups in per_log for group in groups]
    return judge_again(
        question, per_log, invented_crossings(flat), kinds, invented_crossings(groups_of_kinds(plan, kinds)), changed
    )  # fmt: skip


def a_log(cycles_50, seed, year, walks=36):
    log = invented_log(invented_plan(3), cycles_50, 0.3, seed, day=365 * year)
    return dataclasses.replace(log, walks=log.walks[:walks])


def test_one_log_gives_a_list_and_no_verdict():
    found = judged([a_log(2.6, 5, 0)])
    assert found.moved is None and len(found.dated) == 1
    change = [walk for walk in found.walks if walk.why == "sees change"]
    assert len({walk.place for walk in change}) == 3 and {walk.gait for walk in change} == {"walk", "crouch"}
    assert sum(walk.times for walk in change) == 12
    weak = [walk for walk in found.walks if walk.why == "weak"]
    assert not {walk.place for walk in weak} & {walk.place for walk in change}


def test_what_was_changed_is_walked_where_that_camera_tells_most():
    found = judged([a_log(2.6, 5, 0)], ("camera E", "place front 9"))
    own = [walk for walk in found.walks if walk.why == "camera E"]
    assert len(own) == 2
    near_w = {"front 9", "front 15", "front 21", "front 27"}  # E is on its steep part far from itself
    assert {walk.place for walk in own} <= near_w
    assert {walk.gait for walk in found.walks if walk.why == "place front 9"} == {"walk", "crouch"}


@pytest.mark.parametrize("text", ["camera Z", "lens", "place front 14", "Camera W"])
def test_changes_that_are_not_known_are_refused_with_those_that_are(text):
    with pytest.raises(UsageError) as caught:
        check_changed(invented_plan(1), ["camera W", text])
    assert f'--changed "{text}" is not known' in str(caught.value) and '"camera W"' in str(caught.value).replace("'", '"')


def test_logs_of_the_same_site_have_not_moved_and_a_rise_has():
    """Twelve walks, twice: nothing changed, then N50 doubled; the order in which logs are named changes nothing."""
    base = a_log(2.6, 5, 0)
    same = judged([base, a_log(2.6, 10, 1, 12), a_log(2.6, 11, 2, 12)])
    assert not same.moved.alarm and len(same.moved.z) == 2
    logs = [base, a_log(5.2, 10, 1, 12), a_log(5.2, 11, 2, 12)]
    worse = judged(logs)
    assert worse.moved.alarm and worse.moved.ends[0] < 1.0 < worse.moved.ends[1]
    assert judged([logs[2], logs[0], logs[1]]).moved == worse.moved
    better = judged([base, a_log(1.0, 10, 1, 12), a_log(1.0, 11, 2, 12)])
    assert not better.moved.alarm and better.moved.lowest < 0.0


def test_z_is_of_two_separate_posteriors():
    found = judged([a_log(2.6, 5, 0), a_log(3.6, 10, 1, 12)])
    one, two = found.dated
    assert found.moved.z[0] == pytest.approx((two.mean_ln - one.mean_ln) / math.hypot(one.sd_ln, two.sd_ln))
    assert found.moved.change == pytest.approx(math.exp(two.mean_ln - one.mean_ln) - 1.0)


def by(log, *names):
    """The same walks by other people, in turns."""
    walks = [dataclasses.replace(walk, walker=names[k % len(names)]) for k, walk in enumerate(log.walks)]
    return dataclasses.replace(log, walks=tuple(walks))


def moved_by(before, after):
    """`_moved` of two logs whose posteriors are certain: what is left between them is people."""
    made = [a_log(2.6, 5, 0, 36), a_log(2.6, 5, 1, 36)]
    certain = SimpleNamespace(cycles_50=lambda: SimpleNamespace(mean_ln=0.0, sd_ln=1e-9))
    return _moved(lambda _: certain, [by(made[0], *before), by(made[1], *after)], 0.10).people[0]


def test_other_people_are_no_change_of_the_cameras():
    """The sd of the difference of two groups' mean shifts, drawn person by person."""
    people = 0.10 * np.random.default_rng(2).standard_normal((6, 400_000))
    a, b, c, d, e, f = people
    for before, after, exact in (
        ("AB", "AB", 0.0 * a),
        ("AB", "CD", (a + b) / 2 - (c + d) / 2),
        ("AB", "BC", (a + b) / 2 - (b + c) / 2),
        ("ABC", "DEF", (a + b + c) / 3 - (d + e + f) / 3),
        ("A", "AAAB", a - (3 * a + b) / 4),
    ):
        assert moved_by(before, after) == pytest.approx(exact.std(), rel=5e-3, abs=1e-12)
    assert moved_by([""], [""]) == pytest.approx(0.10 * math.sqrt(2.0))  # nobody named: not known to be the same


def test_two_others_each_time_raise_few_false_alarms():
    """600 sets of a baseline and eight re-tests of two others each, nothing changed: an alarm in one of twenty sets at most.

    Posteriors as certain as many walks make them, so that people are most of what differs. Without people: 28 % of sets.
    """
    rng, own, log = np.random.default_rng(7), 0.05, a_log(2.6, 5, 0, 12)
    logs = [by(log, f"{k} one", f"{k} other") for k in range(9)]
    alarms = 0
    for _ in range(600):
        means = 0.10 / math.sqrt(2.0) * rng.standard_normal(9) + own * rng.standard_normal(9)

        def of(part, means=means):
            mean = means[part]
            return SimpleNamespace(cycles_50=lambda: SimpleNamespace(mean_ln=mean.mean(), sd_ln=own / math.sqrt(len(mean))))

        alarms += any(_moved(of, logs[:count], 0.10).alarm for count in range(2, 10))
    assert alarms / 600 <= 0.05


def test_the_chance_to_see_a_rise_is_that_of_simulated_means():
    """Normal means with the same prior, 200,000 draws: baseline of sd 0.1, a list that tells 60, two others who walk it."""
    rng, prior, informed, before = np.random.default_rng(3), Prior(2.0, 0.5), 60.0, 0.1
    found = _chances(before, informed, prior, 2.0)
    for rise, chance in found:
        people = prior.walker_spread * rng.standard_normal((4, 200_000))
        own = math.log1p(rise) + people[:2].mean(axis=0) + rng.standard_normal(200_000) / math.sqrt(informed)
        weight = informed / (informed + prior.spread**-2)
        error = weight * (before * rng.standard_normal(200_000) + people[2:].mean(axis=0))  # of the baseline, about the same pull
        z = (weight * own - error) / math.hypot(before, (informed + prior.spread**-2) ** -0.5, prior.walker_spread)
        assert chance == pytest.approx(np.mean(z > LIMIT), abs=0.004)
    assert [chance for _, chance in found] == sorted(chance for _, chance in found)
    assert found[-1][1] < _chances(before, informed, prior, 20.0)[-1][1]  # more people, more seen
    assert all(chance == 0.0 for _, chance in _chances(before, 0.0, prior, 2.0))
