"""The straight ways of encounters: lengths and places by a plane-geometry library, shares by counting."""

from __future__ import annotations

import dataclasses
import math

import numpy as np
import pytest
import shapely
from kernel_sites import FENCE, make_site

from fencecast.kernels.draw import quantile
from fencecast.kernels.pack import pack_scene
from fencecast.kernels.pack_stimuli import pack_stimuli
from fencecast.kernels.types import SPEED_M_S, STIMULUS_QUANTITIES, WAY_PAUSE_S
from fencecast.kernels.ways import draw_way, place_on_way
from fencecast.site.quantity import Quantity
from fencecast.site.stimuli import Item, Stimulus, resolve

HUT = {"name": "hut", "footprint_m": [[10.0, 5.0], [14.0, 5.0], [14.0, 8.0], [10.0, 8.0]], "height_m": 3.0}
CORNER = [
    {**FENCE, "points_m": [[0.0, 0.0], [30.0, 0.0]], "barrier": "mesh", "barrier_height_m": 2.0},
    {"name": "side", "points_m": [[30.0, 0.0], [30.0, 20.0]], "inside": "left"},
]


def body(kind="fox", **keys):
    return dataclasses.replace(resolve(Stimulus(kind=kind)), **keys)


def ways_of(site, stimulus, count=300, section=0, length=30.0, seed=3):
    """Random ways [(way, free, draws)] of one stimulus in one section."""
    scene, packed = pack_scene(site), pack_stimuli(site, [stimulus])
    random = np.random.default_rng(seed)
    found = []
    for _ in range(count):
        u = random.random(STIMULUS_QUANTITIES)
        drawn = np.array([quantile(packed.quantity[0, k], packed.choice, u[k]) for k in range(STIMULUS_QUANTITIES)])
        place = random.random(3)
        found.append((*draw_way(scene, packed, 0, section, 0.0, length, drawn, *place), drawn, place))
    return found


def line_of(way):
    ends = [(way.x + d * way.heading_x, way.y + d * way.heading_y) for d in (-way.before_m, way.after_m)]
    return shapely.LineString(ends)


def test_a_way_belongs_to_one_section():
    """No way meets the other section, whether that has a barrier or none, and none goes into the hut; those through the fence
    are up to 1 rad off the square, 8 to 12 m each side where nothing stops them. Catches ways that count in two sections."""
    site = make_site(perimeter=CORNER, obstacle=[HUT])
    side, hut = shapely.LineString(CORNER[1]["points_m"]), shapely.Polygon(HUT["footprint_m"])
    cut = 0
    for way, free, _, _ in ways_of(site, body(through={"none": 1.0, "mesh": 1.0})):
        assert free and way.y == 0.0
        line = line_of(way)
        assert not hut.buffer(-1e-6).intersects(line)
        touch = line.intersection(side.buffer(1e-6))
        assert touch.is_empty or touch.length < 1e-4  # it ends there
        assert abs(math.atan2(way.heading_x, abs(way.heading_y))) <= 1.0 + 1e-9
        cut += way.after_m < 8.0 or way.before_m < 8.0
        assert max(way.after_m, way.before_m) <= 12.0
    assert 20 < cut < 250


def test_what_does_not_get_through_walks_along_the_fence():
    """Of a share of 0.3 seven in ten are turned: parallel to the fence, outside by the offset, up to 20 m each side; the other
    way round on a section without a barrier. Half go each way."""
    site = make_site(perimeter=CORNER)
    ways = ways_of(site, body(through={"none": 1.0, "mesh": 0.3}, offset_m=Quantity.uniform(-0.6, -0.1)), count=600)
    along = [way for way, _, _, place in ways if place[2] >= 0.3]
    assert 350 < len(along) < 490
    for way, _, _, place in ways:
        assert (abs(way.heading_y) < 1e-12) == (place[2] >= 0.3)
    assert all(-0.6 <= way.y <= -0.1 and way.before_m == way.after_m == 20.0 for way in along)
    assert 0.4 < np.mean([way.heading_x > 0.0 for way in along]) < 0.6
    assert all(
        abs(way.heading_x) > 0.0 for way, *_ in ways_of(site, body(through={"none": 1.0, "mesh": 0.0}), section=1, length=20.0)
    )


def test_a_way_along_stays_on_its_side():
    """5 m inside, near the corner, the side fence ends it; an offset beyond the other fence is no way at all."""
    site = make_site(perimeter=CORNER)
    for way, free, _, _ in ways_of(site, body(way="along", offset_m=Quantity.fixed(5.0)), count=100):
        assert free and way.y == pytest.approx(5.0)
        right = way.after_m if way.heading_x > 0.0 else way.before_m
        assert right == pytest.approx(min(20.0, 30.0 - way.x))
    bent = make_site(perimeter=[{**FENCE, "points_m": [[0.0, 0.0], [20.0, 0.0], [20.0, 3.0], [0.0, 3.0]]}])
    assert not any(
        free for _, free, _, _ in ways_of(bent, body(way="along", offset_m=Quantity.fixed(5.0)), count=20, length=19.0)
    )


def test_a_road_is_kept_to():
    """Ways of a vehicle with a road begin where it is nearest to the drawn point, go straight on along the piece there, and are
    as long as the road each way, up to 20 m."""
    site = make_site(perimeter=CORNER)
    road = Item("road", ((-5.0, -4.0), (12.0, -3.0), (50.0, -3.0)), 0.0)
    lines = shapely.LineString(road.points_m)
    for way, free, _, place in ways_of(site, body(way="along", at=road), count=100):
        assert free
        drawn, place = shapely.Point(30.0 * place[0], 0.0), shapely.Point(way.x, way.y)
        assert drawn.distance(place) == pytest.approx(drawn.distance(lines))
        pieces = [piece for piece, here in (((17.0, 1.0), way.x < 12.0 + 1e-9), ((38.0, 0.0), way.x > 12.0 - 1e-9)) if here]
        assert min(abs(way.heading_x * y - way.heading_y * x) for x, y in pieces) < 1e-9  # at the bend either
        behind = lines.project(place)
        lengths = min(behind, 20.0), min(lines.length - behind, 20.0)
        assert (way.before_m, way.after_m) == pytest.approx(lengths if way.heading_x > 0.0 else lengths[::-1])


def test_how_finely_a_road_is_drawn_changes_nothing():
    """A straight road of 100 m in 1, 10 and 50 pieces: the same ways, 20 m each side but at its ends. Catches ways as long as
    the piece they begin on."""
    site = make_site(perimeter=CORNER)
    found = []
    for pieces in (1, 10, 50):
        points = tuple((float(x), -3.0) for x in np.linspace(-10.0, 90.0, pieces + 1))
        ways = [way for way, *_ in ways_of(site, body(way="along", at=Item("road", points, 0.0)), count=60)]
        found.append([(way.x, way.y, way.heading_x, way.heading_y, way.before_m, way.after_m) for way in ways])
    for x, _, heading, _, *lengths in found[0]:
        wanted = [min(x + 10.0, 20.0), 20.0][:: int(heading)]
        assert lengths == pytest.approx(wanted)
    for finer in found[1:]:
        assert np.array(finer) == pytest.approx(np.array(found[0]), abs=1e-9)


def test_a_flyer_keeps_its_height_and_may_alight():
    """Over: the base in heights of the barrier (2 m), 0 without one; a pause on the fence; times add up along the way."""
    site = make_site(perimeter=CORNER)
    for section, height in ((0, 2.0), (1, 0.0)):
        for way, _, drawn, _ in ways_of(site, body("bird"), count=30, section=section, length=20.0):
            assert 0.0 <= way.base_m <= height
            assert way.leave_s - way.arrive_s == pytest.approx(drawn[WAY_PAUSE_S])
            for time, along in ((0.0, -way.before_m), (0.5 * (way.arrive_s + way.leave_s), 0.0), (way.end_s, way.after_m)):
                there = place_on_way(way, time, 7)
                assert (there.x, there.y) == pytest.approx((way.x + along * way.heading_x, way.y + along * way.heading_y))
                assert (there.base, there.posture) == (way.base_m, 7)
            still, moving = place_on_way(way, 0.5 * (way.arrive_s + way.leave_s), 7), place_on_way(way, 0.0, 7)
            assert (still.velocity_x, still.velocity_y) == (0.0, 0.0)
            assert math.hypot(moving.velocity_x, moving.velocity_y) == pytest.approx(drawn[SPEED_M_S])
