"""Order and time of a walk test: times by hand, rounds and their balance, seeds."""

from collections import Counter

import pytest

from fencecast.prove.walks.order import Want, change_seconds, in_order, minutes_of, walk_seconds

PLACES = [f"front {x}" for x in (9, 15, 21, 27, 33, 39)]
WANTS = [Want(f"{place} {gait}", place, 3, "C1") for place in PLACES for gait in ("walk", "crouch")]


@pytest.mark.parametrize(
    ("speed", "seconds"), [(1.3, 77), (4.5, 64), (0.8, 88), (0.3, 138)], ids=["walk", "run", "crouch and crawl", "flat crawl"]
)
def test_a_walk_takes_its_time(speed, seconds):
    """12 m on either side of the line: there at its own speed, back at a walk, 40 s to call and settle."""
    assert walk_seconds(24.0, speed) == pytest.approx(seconds, abs=0.6)


def test_every_kind_is_split_over_the_rounds():
    """Catches: a kind that is walked in one half of the night alone, rounds of unlike length."""
    steps = in_order(WANTS, 1)
    rounds = Counter(step.round for step in steps)
    assert rounds == {1: 18, 2: 18}
    by_kind = Counter((step.kind, step.round) for step in steps)
    assert {by_kind[want.kind, 1] for want in WANTS} == {1, 2} and all(
        by_kind[w.kind, 1] + by_kind[w.kind, 2] == 3 for w in WANTS
    )
    by_place = Counter((step.place, step.round) for step in steps)
    assert set(by_place.values()) == {3}


def test_inside_a_round_a_place_is_visited_once_and_the_order_is_random():
    """Catches: walks that jump between places; an order that goes along the fence; one that no seed changes."""
    orders = set()
    for seed in range(6):
        steps = in_order(WANTS, seed)
        for which in (1, 2):
            visits = [step.place for step in steps if step.round == which]
            changes = [place for k, place in enumerate(visits) if k == 0 or place != visits[k - 1]]
            assert sorted(changes) == sorted(PLACES)
            orders.add(tuple(changes))
        assert steps == in_order(WANTS, seed) == in_order(list(reversed(WANTS)), seed)
        at = [k for k, step in enumerate(steps) if step.round == 2][0]
        assert steps[at].place != steps[at - 1].place
    assert len(orders) == 12 and tuple(PLACES) not in orders
    gaits = {tuple(step.kind.split()[-1] for step in in_order(WANTS, seed) if step.place == PLACES[0]) for seed in range(6)}
    assert len(gaits) > 1


def test_walks_after_a_miss_come_last_rung_by_rung():
    later = [Want(f"{place} walk", place, 1, "C1", rung) for rung in (3, 2) for place in PLACES]
    steps = in_order([*later, *WANTS], 1)
    assert [step.rung for step in steps] == [1] * 36 + [2] * 6 + [3] * 6
    assert {step.round for step in steps if step.rung > 1} == {3}


def test_the_time_is_what_a_watch_would_show():
    """By hand: set-up, two places 13 m apart, three walks, a tenth more. Catches: a way forgotten, a place counted twice."""
    where = {"a": (0.0, 0.0), "b": (13.0, 0.0)}
    steps = in_order([Want("a walk", "a", 1), Want("b walk", "b", 1)], 3)
    assert len(steps) == 2
    seconds = {"a walk": 77.0, "b walk": 88.0}
    rounds = {step.round for step in steps}
    visits = 2
    by_hand = 1200.0 + 77.0 + 88.0 + visits * 60.0 + 10.0
    assert minutes_of(steps, seconds, where) == pytest.approx(1.1 * by_hand / 60.0) and rounds <= {1, 2}
    assert change_seconds(13.0) == pytest.approx(70.0)
