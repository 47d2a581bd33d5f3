"""Facts of walkers' cards against values done by hand: where one stands, which way, how far, which pack."""

from __future__ import annotations

import math

import pytest

import fencecast as fc
from fencecast.prove.walks.cards import Rung, cards_of, lower_limits, packs_of, rungs_of, walkers_of
from fencecast.prove.walks.planfile import Trial
from prove.aimyards import camera, yard
from prove.cardplans import claim_of, kind_of, place_of, plan_of, trials_of
from prove.invented_walks import SITE, invented_plan


def one_card(site, place, gait="walk", direction="in", **keys):
    kind = kind_of(1, place, gait, ["K1"], 0.9, direction)
    return cards_of(plan_of(site, ["K1"], [place], [kind], trials_of([], [kind]), [], **keys), site)[0]


def test_cards_of_the_short_yard():
    """Fence along +x, inside to the north: from (9, 0.3) to (9, 8) 7.7 m straight ahead, the metres grow to the right."""
    cards = cards_of(invented_plan(), fc.load_site(SITE))
    first = cards[0]
    assert (first.trial, first.walker, first.place) == (1, "A", "front 9")
    assert (first.letter, first.section) == ("A", "front")
    assert (first.stand, first.barrier, first.pace_s, first.pack) == ("barrier", "mesh", 6, 1)
    assert first.lane.start == pytest.approx((0.0, 0.3)) and first.lane.finish == pytest.approx((0.0, 8.0))
    assert first.lane.chainage_right and first.lane.length_m == pytest.approx(7.7)
    assert (first.start_inside_m, first.finish_inside_m) == pytest.approx((0.3, 8.0))
    assert [card.gait for card in cards[:4]] == ["walk", "crouch", "walk", "crouch"]


def test_a_lane_is_seen_by_the_walker():
    """By hand: 8 m at 30 degrees to his left are 4 m to the left and 6.93 m ahead; outwards the lane turns round with him."""
    site = yard([camera()])
    place = place_of(site, "south", 20.0, slant_deg=30.0)
    inwards, outwards = one_card(site, place), one_card(site, place, direction="out")
    ahead = 8.0 * math.cos(math.radians(30.0))
    assert inwards.lane.finish == pytest.approx((-4.0, ahead)) and inwards.lane.right_m == pytest.approx(-4.0)
    assert outwards.stand == "inside" and outwards.lane.start == pytest.approx((4.0, -ahead))
    assert outwards.lane.finish == pytest.approx((0.0, -0.3)) and not outwards.lane.chainage_right
    assert outwards.start_inside_m == pytest.approx(ahead) and outwards.finish_inside_m == pytest.approx(0.3)
    mirrored = yard([camera()], perimeter=[{"name": "south", "points_m": [[48.0, 0.0], [0.0, 0.0]], "inside": "right"}])
    assert not one_card(mirrored, place_of(mirrored, "south", 20.0)).lane.chainage_right


def test_where_one_stands():
    """A barrier, a gate in it, a line without one, and ground outside."""
    gates = [{"name": "gate", "from_m": 10.0, "to_m": 14.0}]
    fence = {"name": "south", "points_m": [[0.0, 0.0], [48.0, 0.0]], "inside": "left"}
    walled = yard([camera()], perimeter=[fence | {"barrier": "wall", "gates": gates}])
    assert [one_card(walled, place_of(walled, "south", x)).stand for x in (9.0, 12.0)] == ["barrier", "gate"]
    quay = yard([camera()], perimeter=[fence | {"barrier": "none"}])
    assert one_card(quay, place_of(quay, "south", 9.0)).stand == "line"
    far = place_of(walled, "south", 9.0).model_copy(update={"start_m": (9.0, -4.0)})
    card = one_card(walled, far, from_fence=False)
    assert card.stand == "outside" and card.start_inside_m == pytest.approx(-4.0) and card.lane.length_m == pytest.approx(12.0)


@pytest.mark.parametrize(("path_s", "pace"), [(0.2, 1), (1.49, 1), (1.5, 2), (26.4, 26)])
def test_the_pace_is_whole_seconds(path_s, pace):
    plan = invented_plan(1)
    kinds = tuple(kind.model_copy(update={"path_s": path_s}) for kind in plan.kinds)
    assert cards_of(plan.model_copy(update={"kinds": kinds}), fc.load_site(SITE))[0].pace_s == pace


def test_walkers_swap_once():
    """Two rounds: A, then B. One round: A the first half."""
    three = walkers_of(invented_plan(2))
    assert [three[k] for k in (1, 12, 13, 24)] == ["A", "A", "B", "B"]
    one = walkers_of(invented_plan(1))
    assert [one[k] for k in (1, 6, 7, 12)] == ["A", "A", "B", "B"]


def test_later_rungs_are_packs_of_their_own():
    """Two claims with two later rungs and one: four packs, the first rungs of both in the first."""
    site = yard([camera()])
    place = place_of(site, "south", 20.0)
    kind = kind_of(1, place, "walk", ["K1"], 0.9)
    claims = [claim_of("C1", "place", "there", [kind], (3, 5, 6)), claim_of("C2", "pool", "all", [kind], (2, 4))]
    plan = plan_of(site, ["K1"], [place], [kind], trials_of(claims), claims)
    found = [(pack.number, pack.claim, pack.rung, len(pack.trials)) for pack in packs_of(plan)]
    assert found == [(1, None, 1, 5), (2, "C1", 2, 2), (3, "C1", 3, 1), (4, "C2", 2, 2)]
    numbers = [trial for pack in packs_of(plan) for trial in pack.trials]
    assert sorted(numbers) == [trial.trial for trial in plan.trials]
    assert [card.pack for card in cards_of(plan, site)] == [1] * 5 + [2, 2, 3, 4, 4]


def test_a_pack_keeps_the_order_of_the_plan():
    plan = invented_plan(1)
    turned = tuple(reversed(plan.trials))
    assert packs_of(plan.model_copy(update={"trials": turned}))[0].trials == tuple(trial.trial for trial in turned)
    assert isinstance(turned[0], Trial)


def test_rungs_of_equal_walks_are_one():
    claim = invented_plan().claims[0]
    for stops, rungs in (((39, 53, 65), [(39, 0), (53, 1), (65, 2)]), ((46, 46), [(46, 1)]), ((29,), [(29, 0)])):
        assert list(rungs_of(claim.model_copy(update={"stops": stops}))) == [Rung(*rung) for rung in rungs]


def test_lower_limits_are_exact():
    """36 walks and 29: 0.9202, 0.8749, 0.8353 and 0.9019 = 0.05^(1/29); by enumeration the tail at the limit is 5 %."""
    assert lower_limits(36, 0.95)[:3] == pytest.approx((0.9202, 0.8749, 0.8353), abs=5e-5)
    assert lower_limits(29, 0.95)[0] == pytest.approx(0.05 ** (1 / 29), rel=1e-12)
    for misses, pd in enumerate(lower_limits(40, 0.90)):
        tail = sum(math.comb(40, k) * (1 - pd) ** k * pd ** (40 - k) for k in range(misses + 1))
        assert tail == pytest.approx(0.10, rel=1e-9)
    assert lower_limits(2, 0.95)[2] == 0.0 and len(lower_limits(2, 0.95)) == 3 and len(lower_limits(50, 0.95)) == 9
