"""How many walks go where: two hours, longer and shorter times, numbers that are asked for, claims together."""

from collections import Counter
from dataclasses import replace

import pytest

from fencecast.errors import UsageError
from fencecast.prove.walks.allot import Ground, Task, allot, kind_key
from fencecast.prove.walks.chance import ladder
from fencecast.prove.walks.order import walk_seconds

PLACES = tuple(f"front {x}" for x in (9, 15, 21, 27, 33, 39))
WEAK = ("front 3", "front 43", "front 24")
SPEEDS = {"walk": 1.3, "crouch": 0.8}
TASK = Task("both", ("walk", "crouch"), PLACES, (), (), 0.90, 0.05, 2, 120.0, None, False)
GROUND = Ground(
    {kind_key(p, g, d): walk_seconds(24.0, v) for p in PLACES + WEAK for g, v in SPEEDS.items() for d in ("in", "out")},
    {place: (float(place.split()[1]), 0.0) for place in PLACES + WEAK},
    1,
)


def walked(found, claim=None, rung=None):
    return [w for w in found.wants if not w.control and (claim is None or w.claim == claim) and (rung is None or w.rung == rung)]


def count(wants):
    return sum(want.count for want in wants)


def test_two_hours_are_36_walks_and_what_a_miss_would_ask_for():
    """Catches: gaits or places of unlike number, a ladder whose first rung the walks do not reach, a time above the budget."""
    found = allot(TASK, GROUND)
    assert {(w.kind, w.count) for w in walked(found, "C1", 1)} == {(kind_key(p, g, "in"), 3) for p in PLACES for g in SPEEDS}
    (claim,) = found.claims
    assert claim.stops == (36, 48) == ladder(0.90, 0.95, 1) and claim.confidence == 0.95
    assert Counter(w.kind for w in walked(found, "C1", 2)) == Counter(kind_key(p, g, "in") for p in PLACES for g in SPEEDS)
    assert count(w for w in found.wants if w.control) == 4 and all("out" in w.kind for w in found.wants if w.control)
    assert 85.0 < found.minutes <= 120.0 < found.most_minutes + 5.0


def test_with_more_time_the_lowest_places_get_claims_of_their_own():
    """Catches: claims before calibration, the order of weak places lost, a claim beyond the time."""
    for minutes, own in ((120.0, ()), (210.0, WEAK[:1]), (330.0, WEAK)):
        found = allot(replace(TASK, weak=WEAK, minutes=minutes), GROUND)
        assert tuple(d.places[0] for d in found.claims if d.of == "place") == own and found.minutes <= minutes
        assert found.left_out == WEAK[len(own) :]
        for number, draft in enumerate(found.claims, start=1):
            for rung, stop in enumerate(draft.stops, start=1):
                more = stop - (draft.stops[rung - 2] if rung > 1 else 0)
                assert count(walked(found, f"C{number}", rung)) == more
            assert draft.stops >= ladder(0.90, 0.95, len(draft.stops) - 1)


def test_less_time_means_fewer_repeats_then_fewer_places_and_no_claim():
    """Catches: a claim that the walks cannot show."""
    hour = allot(replace(TASK, minutes=70.0), GROUND)
    assert count(walked(hour)) in (12, 24) and not hour.claims
    short = allot(replace(TASK, minutes=32.0), GROUND)
    assert len({w.place for w in walked(short)}) < 6 and {w.count for w in walked(short)} == {1}
    with pytest.raises(UsageError, match=r"minutes 10 is too short: set-up and one walk take 2\d; type --minutes \d\d"):
        allot(replace(TASK, minutes=10.0), GROUND)


@pytest.mark.parametrize("walks", [1, 2, 5, 29, 30, 40, 100])
def test_a_number_of_walks_is_kept_exactly(walks):
    """Catches: a number rounded to whole repeats, a budget of time that still counts."""
    found = allot(replace(TASK, walks=walks, weak=WEAK), GROUND)
    assert count(walked(found, rung=1)) == walks
    per_place = Counter()
    for want in walked(found, rung=1):
        per_place[want.place, want.claim] += want.count
    base = [n for (place, claim), n in per_place.items() if claim in (None, "C1") and place in PLACES]
    assert max(base) - min(base) <= 1
    assert bool(found.claims) == (walks >= 30)  # 29 without a miss, the same number at each of six places


def test_pools_count_every_place_alike_at_every_rung():
    """Catches: a pooled claim in which one place weighs more."""
    found = allot(replace(TASK, goal="accept", sample=PLACES, calibration=(), minutes=300.0), GROUND)
    (claim,) = found.claims
    assert claim.stops == (42, 54, 66)  # 39, 53 and 65, the same number at each of six places
    for rung, each in ((1, 7), (2, 2), (3, 2)):
        here = Counter()
        for want in walked(found, "C1", rung):
            here[want.place] += want.count
        assert set(here.values()) == {each} and len(here) == 6


def test_acceptance_without_room_for_a_claim_says_what_would_do():
    with pytest.raises(
        UsageError, match=r"no claim fits into 30 minutes: the smallest takes 30 walks without a miss, \d+ minutes"
    ):
        allot(replace(TASK, goal="accept", sample=PLACES, calibration=(), minutes=30.0), GROUND)
    with pytest.raises(UsageError, match="no place of this site can be claimed"):
        allot(replace(TASK, goal="accept", calibration=()), GROUND)


def test_calibration_alone_claims_nothing_and_uses_the_time():
    found = allot(replace(TASK, goal="calibrate", weak=WEAK), GROUND)
    assert not found.claims and count(walked(found)) == 48 and found.minutes <= 120.0


def test_together_makes_each_claim_at_a_higher_confidence():
    """Catches: claims that hold only one by one, an error shared out over claims that were dropped."""
    found = allot(replace(TASK, weak=WEAK[:1], minutes=300.0, together=True), GROUND)
    assert [draft.confidence for draft in found.claims] == pytest.approx([0.975, 0.975])
    alone = allot(replace(TASK, minutes=300.0, together=True), GROUND)
    assert [draft.confidence for draft in alone.claims] == pytest.approx([0.95])


def test_walks_whose_mean_is_predicted_below_the_requirement_claim_nothing():
    """Catches: a claim that nobody can pass."""
    low = dict.fromkeys(PLACES, 0.85)
    found = allot(replace(TASK, pd=low), GROUND)
    assert not found.claims and count(walked(found)) == 36
    assert allot(replace(TASK, pd=dict.fromkeys(PLACES, 0.95)), GROUND).claims
