"""Claims: verdicts by their rungs against enumeration, and which walks count."""

from __future__ import annotations

import datetime
import itertools

import pytest

from fencecast.prove.log.walked import Walked
from fencecast.prove.score.claims import judge, score_claims
from fencecast.prove.walks.chance import chance_of, interval, lower_limit
from fencecast.prove.walks.planfile import Trial
from prove.invented_walks import invented_plan

PLAN = invented_plan()
LADDER = (39, 53, 65)


def claim_of(stops, of="pool"):
    return PLAN.claims[0].model_copy(update={"stops": tuple(stops), "of": of})


def alarms(n, *missed):
    return [at not in missed for at in range(1, n + 1)]


def test_exact_limits():
    assert lower_limit(29, 0, 0.95) == pytest.approx(0.9019, abs=5e-5)
    assert interval(29, 2, 0.95) == pytest.approx((0.7723, 0.9915), abs=5e-5)
    assert interval(40, 2, 0.95) == pytest.approx((0.8308, 0.9939), abs=5e-5)


@pytest.mark.parametrize(
    ("walked", "verdict", "n", "misses", "rung"),
    [
        (alarms(39), "shown", 39, 0, None),
        (alarms(38), "walk on", 38, 0, 39),
        (alarms(38, 5), "walk on", 38, 1, 53),
        (alarms(39, 5), "walk on", 39, 1, 53),
        (alarms(53, 5), "shown", 53, 1, None),
        (alarms(53, 5, 50), "walk on", 53, 2, 65),
        (alarms(65, 5, 50), "shown", 65, 2, None),
        (alarms(20, 5, 9, 17), "not shown", 20, 3, None),
        (alarms(20, 5, 9, 11, 13, 17), "not shown", 20, 5, None),
        (alarms(3, 1, 2), "walk on", 3, 2, 65),
        (alarms(7, 2, 4, 7), "refuted", 7, 3, None),
        (alarms(20, 2, 4, 7), "not shown", 20, 3, None),
        (alarms(9, 2, 4, 7, 9), "refuted", 9, 4, None),
        (alarms(65, *range(5, 65, 5)), "refuted", 65, 12, None),
        (alarms(60, 5, 9, 58), "not shown", 60, 3, None),
        (alarms(65, 5, 9, 65), "not shown", 65, 3, None),
        (alarms(45, 41, 43, 45), "shown", 39, 0, None),
        ([], "walk on", 0, 0, 39),
    ],
)
def test_verdicts_of_a_ladder(walked, verdict, n, misses, rung):
    found, _ = judge(claim_of(LADDER), walked, 0.90)
    assert (found.verdict, found.n, found.misses, found.next_rung) == (verdict, n, misses, rung)


def test_refuted_errs_no_oftener_than_said_however_often_it_is_asked():
    """Catches: a verdict asked for after every walk, whose errors add up. Source: all courses at a Pd of the requirement, by
    their probability; asked after every walk before the last, or once after all of them."""
    claim, pd = claim_of((6, 9)), 0.8
    often = whole = 0.0
    for course in itertools.product((True, False), repeat=9):
        weight = pd ** sum(course) * (1.0 - pd) ** (9 - sum(course))
        asked = [judge(claim, course[:n], pd)[0].verdict for n in range(1, 10)]
        often += weight * ("refuted" in asked[:-1])
        whole += weight * (asked[-1] == "refuted")
    assert 0.0 < whole <= 0.05 and often <= 0.05


def test_a_fixed_plan_is_judged_at_its_end():
    fixed = claim_of((46, 46))
    assert judge(fixed, alarms(45), 0.90)[0].verdict == "walk on"
    assert judge(fixed, alarms(46, 3), 0.90)[0].verdict == "shown"
    assert judge(fixed, alarms(46, 3, 4), 0.90)[0].verdict == "not shown"


@pytest.mark.parametrize("stops", [(3,), (2, 5), (2, 4, 6), (5, 5), (4, 4, 4)])
def test_every_course_of_a_test_adds_up_to_its_chance(stops):
    # All courses of the longest test, weighed by their probability at a Pd of 0.7.
    shown = 0.0
    for course in itertools.product((True, False), repeat=stops[-1]):
        if judge(claim_of(stops), course, 0.5)[0].verdict == "shown":
            shown += 0.7 ** sum(course) * 0.3 ** (len(course) - sum(course))
    assert shown == pytest.approx(chance_of(stops, 0.7), abs=1e-12)


def walk(trial, missed=False, void="", kind="K1", claim="C1", minutes=None, control=False):
    moment = datetime.datetime(2026, 11, 29, 22) + datetime.timedelta(minutes=trial if minutes is None else minutes)
    heard = {"W": "no" if missed else "yes", "E": "no"}
    place = PLAN.kind_of(kind).place
    return Walked(trial, place, "walk", "in", "A", moment, heard, kind, claim, control, "clear night", void=void)


def one_claim(stops, cards):
    """A plan of one place with so many cards."""
    claim = claim_of(stops, "place").model_copy(update={"kinds": ("K1",)})
    trials = tuple(Trial(trial=k, kind="K1", round=1, claim="C1") for k in range(1, cards + 1))
    return PLAN.model_copy(update={"claims": (claim,), "trials": trials})


def scored(plan, walks):
    return score_claims(plan, walks)[0]


def test_walks_beyond_the_cards_are_added_to_no_claim():
    plan = one_claim((6,), 6)
    five = [walk(k) for k in range(1, 6)]
    found = scored(plan, [*five, walk(7, claim=None)])
    assert (found.judged.n, found.judged.verdict) == (5, "walk on")


def test_a_void_walk_may_be_repeated_once_by_one_of_its_kind():
    plan = one_claim((6,), 6)
    walks = [walk(k, void="animal" if k == 2 else "") for k in range(1, 7)]
    assert scored(plan, walks).judged.n == 5
    again = scored(plan, [*walks, walk(7, claim=None), walk(8, claim=None)])
    assert (again.judged.n, again.judged.verdict, again.voids, again.replaced) == (6, "shown", 1, 1)
    assert scored(plan, [*walks, walk(7, claim=None, kind="K3")]).judged.n == 5
    before = scored(plan, [*walks, walk(7, claim=None, minutes=1.5)])
    assert before.judged.n == 5


def test_every_void_walk_as_a_miss():
    plan = one_claim((6, 9), 9)
    walks = [walk(k, void="fell" if k in (2, 3) else "") for k in range(1, 9)]
    found = scored(plan, walks)
    assert found.judged.verdict == "shown"
    assert (found.voids_missed.misses, found.voids_missed.verdict) == (2, "not shown")


def test_judged_in_the_order_walked_whatever_the_order_of_rows():
    plan = one_claim((4, 8), 8)
    # Card 8 was walked first, and missed: with it the first four are no rung.
    walks = [walk(8, missed=True, minutes=0), *(walk(k) for k in range(1, 5))]
    assert scored(plan, walks).judged == scored(plan, walks[::-1]).judged
    assert scored(plan, walks).judged.verdict == "walk on"


def test_what_comes_after_the_rung_is_said_and_not_counted():
    plan = one_claim((4,), 8)
    found = scored(plan, [walk(k, missed=k in (6, 7)) for k in range(1, 9)])
    assert (found.judged.verdict, found.judged.n, found.after, found.after_misses) == ("shown", 4, 4, 2)


def test_cards_left_out_are_named():
    found = scored(one_claim((8,), 8), [walk(k) for k in (1, 2, 5)])
    assert found.unwalked == (3, 4)


def test_controls_count_for_nothing():
    plan = one_claim((2,), 2)
    controls = [*plan.trials, Trial(trial=3, kind="K1", round=1, claim="C1", control=True)]
    plan = plan.model_copy(update={"trials": tuple(controls)})
    found = scored(plan, [walk(1), walk(3, control=True, missed=True)])
    assert (found.judged.n, found.judged.misses) == (1, 0)


def test_a_pool_walked_unlike_often():
    even = [walk(k + 1, kind=kind.kind) for k, kind in enumerate(PLAN.kinds)]
    assert score_claims(PLAN, even)[0].unbalanced == 0
    others = [each for each in even if each.place != "front 9"]
    assert score_claims(PLAN, [*others, *(walk(card) for card in (1, 2, 13, 14, 25))])[0].unbalanced == 3
