"""A plan as a whole, over steps made by a rule of thumb: what is written fits together, odd sites and wishes, seeds."""

import hashlib
from collections import Counter
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

import fencecast as fc
from fencecast.errors import UsageError
from fencecast.findings.walkplan import worth
from fencecast.findings.walkwords import finding
from fencecast.prove.walks import assembled, plan, testweather
from fencecast.prove.walks.asfinished import Crossed, pack_walks
from fencecast.prove.walks.chance import course_of_walks, ladder
from fencecast.prove.walks.planfile import read_plan, write_plan
from prove.invented_sites import SHORT, foggy_yard, one_camera_yard, open_yard, ruled_yard, sharp_yard
from prove.invented_steps import WEATHER, invented_lines, invented_steps

SITE = Path(__file__).parents[2] / "data" / "proof" / "short-yard.toml"


@pytest.fixture(autouse=True)
def by_rule_of_thumb(monkeypatch):
    monkeypatch.setattr(plan, "CROSSINGS", 16)
    monkeypatch.setattr(plan, "simulate_walks", invented_steps)
    monkeypatch.setattr(testweather, "simulate_walks", invented_steps)
    monkeypatch.setattr(assembled, "walk_lines", invented_lines)


def first_walks(made):
    return [trial for trial in made.trials if trial.rung == 1 and not trial.control]


def test_two_hours_are_36_walks_at_six_places():
    """Catches: gaits or places of unlike number, rounds that do not split a kind, controls that are counted."""
    made = fc.walk_plan(sharp_yard())
    assert len(first_walks(made)) == 36 and len(made.places) == 6 and made.minutes <= 120.0
    kinds = Counter(trial.kind for trial in first_walks(made))
    assert len(kinds) == 12 and set(kinds.values()) == {3}
    assert {(made.kind_of(kind).place, made.kind_of(kind).gait) for kind in kinds} == {
        (place.place, gait) for place in made.places for gait in ("walk", "crouch")
    }
    assert {trial.round for trial in first_walks(made)} == {1, 2}
    controls = [trial for trial in made.trials if trial.control]
    assert len(controls) == 4 and {made.kind_of(t.kind).direction for t in controls} == {"out"}
    assert not {t.kind for t in controls} & set(kinds) and all(t.claim is None for t in controls)
    assert [trial.trial for trial in made.trials] == list(range(1, len(made.trials) + 1))


def test_what_is_predicted_adds_up():
    """Catches: patterns that leave something out, a Pd that is another than its patterns', bands on the wrong side."""
    made = fc.walk_plan(SITE)
    for kind in made.kinds:
        assert sum(kind.patterns.values()) == pytest.approx(1.0, abs=1e-6)
        assert 1.0 - kind.patterns.get("", 0.0) == pytest.approx(kind.pd, abs=1e-6)
        for mark, pd in kind.pd_camera.items():
            seen = sum(chance for pattern, chance in kind.patterns.items() if mark in pattern.split("+"))
            assert seen == pytest.approx(pd, abs=1e-6)
        assert kind.direction == "out" or kind.pd_low < kind.pd < kind.pd_high + 1e-9
        assert sum(share for _, share in kind.delay_s) == pytest.approx(1.0)
    assert made.expected.sd_ln_n50 < 0.12 and 0.05 < made.expected.sd_r < 0.26


def test_what_n50_is_promised_to_allows_for_places_and_people_that_differ():
    """Catches: a promise for one place. Source: draws of places' spreads and shifts, of two walkers, of the rest."""
    made = fc.walk_plan(SITE, goal="calibrate", minutes=90)
    places = len({made.kind_of(trial.kind).place for trial in first_walks(made)})
    random, draws = np.random.default_rng(3), 100_000
    spread = np.abs(random.normal(0.0, 0.3, 2 * draws))
    spread = spread[spread < 0.7][:draws]
    shift = spread[:, None] * random.normal(size=(draws, places))
    off = shift.mean(axis=1) + random.normal(0.0, 0.10, (draws, 2)).mean(axis=1)
    off += random.normal(0.0, made.expected.sd_ln_n50, draws)
    assert made.expected.to_promise == pytest.approx(off.std(), rel=0.015)
    assert made.expected.to_promise > 1.3 * made.expected.sd_ln_n50
    promised, alike = (f"{100 * sd:.0f} %" for sd in (made.expected.to_promise, made.expected.sd_ln_n50))
    assert f"uncertain by {promised} (standard error)" in finding(made)
    assert f"to {alike} if places and people were alike, about {promised} as they usually differ" in " ".join(worth(made))


def test_a_claim_has_the_chances_of_its_walks():
    """Catches: chances of other walks than those of the cards, a band that is not the kinds', the requirement itself left out."""
    made = fc.walk_plan(sharp_yard())
    (claim,) = made.claims
    assert claim.stops == ladder(0.90, 0.95, 1) and claim.of == "pool"
    mine = [trial for trial in made.trials if trial.claim == "C1"]
    assert len(mine) == claim.stops[-1] and {trial.rung for trial in mine} == {1, 2}
    pd = np.array([made.kind_of(trial.kind).pd for trial in mine])
    low = np.array([made.kind_of(trial.kind).pd_low for trial in mine])
    assert claim.chance.predicted == pytest.approx(float(course_of_walks(claim.stops, pd).chance), abs=1e-9)
    assert claim.chance.low_end == pytest.approx(float(course_of_walks(claim.stops, low).chance), abs=1e-9)
    assert dict(claim.chance.at)[0.9] == pytest.approx(0.0480, abs=6e-5)
    assert claim.chance.low_end < min(claim.chance.over_prior, claim.chance.predicted)
    assert made.claim_pd(claim) == pytest.approx(pd[:36].mean())
    assert (
        claim.no_miss[0] == (0.7, pytest.approx(float(np.prod(pd[:36])), abs=1e-9)) and claim.no_miss[1][1] < claim.no_miss[0][1]
    )


def test_the_same_seed_gives_the_same_plan_and_the_file_reads_back(tmp_path):
    """Catches: an order that hangs on the process, numbers that JSON cuts off, a site text that is not the site's."""
    made, again, other = (fc.walk_plan(SITE, seed=seed) for seed in (5, 5, 6))
    assert made.model_copy(update={"created": ""}) == again.model_copy(update={"created": ""})
    assert [trial.kind for trial in made.trials] != [trial.kind for trial in other.trials]
    path = tmp_path / "plan.json"
    path.write_text(write_plan(made), encoding="utf-8")
    assert read_plan(path) == made
    assert made.site_toml == SHORT and made.site_sha256 == hashlib.sha256(SITE.read_bytes()).hexdigest()


def test_fog_is_no_weather_for_a_test_even_where_the_site_does_better_in_it(monkeypatch):
    """Catches: N50 learnt in fog, of which clear nights say nothing."""
    monkeypatch.setitem(WEATHER, "thick fog", 1.5)
    assert fc.walk_plan(foggy_yard(), walks=2).weather == "clear night"


def test_the_weather_is_the_best_class_and_says_so():
    """Catches: the class with most hours where the site does badly."""
    made = fc.walk_plan(foggy_yard(), walks=2)
    assert made.weather == "clear night" and "most often" in made.weather_why
    assert fc.walk_plan(foggy_yard(), weather="thick fog", walks=2).weather == "thick fog"
    with pytest.raises(UsageError, match='weather class "thick fg" is not known: did you mean "thick fog"'):
        fc.walk_plan(foggy_yard(), weather="thick fg")


def test_walks_start_at_a_fence_that_nobody_walks_through():
    """Catches: a test that asks people to climb."""
    closed, opened = fc.walk_plan(SITE, walks=4), fc.walk_plan(open_yard(), walks=4)
    assert (closed.from_fence, closed.fence_asked) == (True, False) and not opened.from_fence
    assert fc.walk_plan(open_yard(), walks=4, from_fence=True).from_fence
    assert all(place.start_m[1] < 0.0 for place in opened.places) and all(place.start_m[1] > 0.0 for place in closed.places)


def test_controls_need_a_rule_that_hears_one_direction():
    """Catches: a control where an alarm is right; walks inwards before a rule that listens outwards."""
    assert not any(trial.control for trial in fc.walk_plan(ruled_yard('direction = "both"'), walks=20).trials)
    outward = fc.walk_plan(ruled_yard('direction = "outward"'), walks=20)
    assert {outward.kind_of(t.kind).direction for t in outward.trials if not t.control} == {"out"}
    assert {outward.kind_of(t.kind).direction for t in outward.trials if t.control} == {"in"}


def test_a_line_outside_the_fence_is_crossed_or_refused():
    """Catches: walks from the inside foot of a fence that never cross its line, and a report that asks for the minutes it got."""
    outside = SHORT.replace("offset_m = 1.5", "offset_m = -1.0")
    with pytest.raises(UsageError, match="^front: nothing can be walked, for the rule's line lies outside the fence"):
        fc.walk_plan(fc.parse_site(outside))
    opened = fc.parse_site(outside.replace('barrier = "mesh"', 'barrier = "none"'))
    walks = [Crossed("front", 20.0, "walk", way) for way in ("in", "out")]
    assert pack_walks(opened, walks, "clear night", 1, True, None)[2].outside_m.tolist() == [2.0, 2.0]
    assert pack_walks(fc.parse_site(SHORT), walks, "clear night", 1, True, None)[2].outside_m.tolist() == [1e-3, 0.0]
    assert fc.walk_plan(opened, walks=4, from_fence=True).trials


def test_a_site_where_no_walk_alarms_is_told_so(monkeypatch):
    """Catches: `minutes 120 is too short; type --minutes 120`."""

    def nothing(site, walks, weather, **options):
        made = invented_steps(site, walks, weather, **options)
        return replace(made, gain=np.zeros_like(made.gain), in_view=np.zeros_like(made.in_view))

    monkeypatch.setattr(plan, "simulate_walks", nothing)
    with pytest.raises(UsageError, match="nothing can be walked that says anything of N50"):
        fc.walk_plan(SITE)


def test_a_plan_says_which_way_its_rules_hear():
    """Catches: a plan from which a log cannot know whether a walk out is a fault."""
    said = {rule: fc.walk_plan(ruled_yard(f'direction = "{rule}"'), walks=2).heard for rule in ("inward", "outward", "both")}
    assert said == {"inward": "in", "outward": "out", "both": "both"}


def loud_at(places):
    """Steps where walks out over some places alarm as those in do."""

    def steps_of(site, walks, weather, **options):
        turned = [replace(each, direction="in") if each.chainage_m in places else each for each in walks]
        return invented_steps(site, turned, weather, **options)

    return steps_of


def test_controls_stand_where_no_alarm_is_expected(monkeypatch):
    """Catches: an alarm called a fault at a place where a walk out alarms by right, as along another section's line."""
    first = fc.walk_plan(sharp_yard())
    places = {first.kind_of(t.kind).place: t.kind for t in first.trials if t.control}
    loud = sorted(places)[0]
    monkeypatch.setattr(plan, "simulate_walks", loud_at([float(loud.split()[-1])]))
    moved = fc.walk_plan(sharp_yard())
    controls = [moved.kind_of(t.kind) for t in moved.trials if t.control]
    assert len(controls) == 4 and loud not in {kind.place for kind in controls}
    assert all(kind.pd <= 0.001 for kind in controls) and moved.minutes <= 120.0
    monkeypatch.setattr(plan, "simulate_walks", loud_at([place.chainage_m for place in first.places]))
    none = fc.walk_plan(sharp_yard())
    assert not any(t.control for t in none.trials) and none.minutes < first.minutes and len(first_walks(none)) == 36


def test_one_camera_says_nothing_of_a_correlation():
    made = fc.walk_plan(one_camera_yard())
    assert made.marks == ("W",) and made.expected.sd_r == pytest.approx(0.26, abs=1e-3) and made.expected.sd_ln_n50 < 0.15


def test_weak_places_without_a_chance_are_named_and_not_claimed():
    """Catches: a test of a place that is predicted to fail; --full that is not honoured."""
    made = fc.walk_plan(SITE, minutes=400)
    assert made.hopeless and not {claim.where for claim in made.claims} & set(made.hopeless)
    asked = fc.walk_plan(SITE, minutes=600, full=2)
    own = [claim for claim in asked.claims if claim.of == "place"]
    assert len(own) == 2 and not asked.hopeless
    pd = {place.place: asked.kind_of(next(k.kind for k in asked.kinds if k.place == place.place)).pd for place in asked.places}
    assert pd[own[0].where] <= pd[own[1].where] + 1e-9
    assert {place.role for place in asked.places if place.place in {claim.where for claim in own}} == {"full"}


def test_acceptance_pools_a_sample_of_what_meets():
    made = fc.walk_plan(sharp_yard(), goal="accept", minutes=240)
    assert made.claims and {trial.claim for trial in first_walks(made)} == {claim.claim for claim in made.claims}
    pool = next(claim for claim in made.claims if claim.of == "pool")
    assert made.claim_pd(pool) >= 0.90
    alone = fc.walk_plan(sharp_yard(), goal="accept", minutes=240, places=["front 13"], full=1)
    assert any(claim.where == "front 13" for claim in alone.claims)


def test_one_walk_is_a_plan():
    made = fc.walk_plan(SITE, walks=1)
    assert len(made.trials) == 1 and not made.claims and made.budget_minutes is None


@pytest.mark.parametrize(
    ("asked", "said"),
    [
        ({"goal": "learn"}, 'goal "learn" is not known'),
        ({"gaits": ["crawll"]}, 'gait "crawll" is not known: did you mean "crawl"?'),
        ({"minutes": 10}, "minutes 10 is too short: set-up and one walk take "),
        ({"minutes": float("nan")}, "minutes nan is not allowed: a number above 0, at most 1,440; type for instance 120"),
        ({"walks": 0}, "walks 0 is not allowed: a whole number from 1 to 1,000; type for instance 36"),
        ({"full": -1}, "full -1 is not allowed: a whole number from 0 to 20; type for instance 2"),
        ({"misses": 30}, "misses 30 is not allowed: a whole number from 0 to 20; type for instance 2"),
        ({"places": ["frnt 3"]}, 'section "frnt" of the place "frnt 3" is not known: did you mean "front"?'),
        ({"seed": -1}, "seed -1 is not allowed"),
        ({"goal": "accept", "minutes": 30}, "no claim fits into 30 minutes: the smallest takes "),
    ],
)
def test_wishes_that_cannot_be_met_are_refused(asked, said):
    with pytest.raises(UsageError) as refused:
        fc.walk_plan(sharp_yard(), **asked)
    assert str(refused.value).startswith(said)
