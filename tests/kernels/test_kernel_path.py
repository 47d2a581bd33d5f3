"""The way of one intruder: legs, turn, pause, climb, gates, cuts, against hand values and a plane-geometry library."""

from __future__ import annotations

import math

import numpy as np
import pytest
import shapely
from kernel_sites import CAMERA, FENCE, make_site
from scipy.stats import lognorm

from fencecast.kernels import path
from fencecast.kernels.pack import pack_plan
from fencecast.physics import body

MESH = {**FENCE, "barrier": "mesh", "barrier_height_m": 2.4}
FAR_CAMERA = {**CAMERA, "position_m": [500.0, 500.0]}


def tracks(site, units, gait=body.WALK, speed=1.3, section=0, length=40.0):
    """One track per row of units (rows, 6): position, angle, turn, pause, climb, direction."""
    plan = pack_plan(site)
    return plan, [path.draw_track(plan.scene, plan.intruder, section, 0.0, length, gait, speed, *u) for u in units]


def middle(**changes):
    unit = {"position": 0.5, "angle": 0.5, "turn": 0.5, "pause": 0.5, "climb": 0.5, "direction": 0.5, **changes}
    return list(unit.values())


def where(track, time_s):
    """Foot point and base height."""
    return np.array(path.place_at(track, time_s)[:3])


def test_timetable_by_hand():
    """Catches a leg along the wrong heading, a climb before the pause, a climber who crawls, half a climb for a whole. By hand:
    over a 2.4 m mesh at (20, 0), approach +20 degrees from the inward normal anticlockwise, turn of +30 more, 12 m legs at
    1.5 m/s, pause 2 s, climb 6 s: at the fence after 8 s, on top after 13 s, down after 16 s, away after 24 s."""
    intruder = {"approach_angle_deg": 20.0, "turn_deg": 30.0, "pause_s": 2.0, "climb_s": 6.0}
    _, (track,) = tracks(make_site(perimeter=[MESH], intruder=intruder), [middle()], gait=body.CRAWL, speed=1.5)
    inward = np.array([-math.sin(math.radians(20.0)), math.cos(math.radians(20.0))])
    onward = np.array([-math.sin(math.radians(50.0)), math.cos(math.radians(50.0))])
    assert (track.arrive_s, track.climb_s, track.top_s, track.down_s, track.end_s) == pytest.approx((8.0, 10.0, 13.0, 16.0, 24.0))
    assert where(track, 0.0) == pytest.approx([*((20.0, 0.0) - 12.0 * inward), 0.0], abs=1e-12)
    assert where(track, 6.0) == pytest.approx([*((20.0, 0.0) - 3.0 * inward), 0.0], abs=1e-12)
    assert where(track, 9.0) == pytest.approx([20.0, 0.0, 0.0], abs=1e-12)
    assert where(track, 11.0) == pytest.approx([20.0, 0.0, 0.8], abs=1e-12)
    assert where(track, 15.0) == pytest.approx([20.0, 0.0, 0.8], abs=1e-12)
    assert where(track, 18.0) == pytest.approx([*((20.0, 0.0) + 3.0 * onward), 0.0], abs=1e-12)
    headings = [path.place_at(track, t)[3:5] for t in (1.0, 9.0, 12.0, 14.0, 20.0)]
    assert np.array(headings) == pytest.approx(np.array([inward, inward, inward, onward, onward]), abs=1e-12)
    postures = [path.place_at(track, t).posture for t in (1.0, 9.0, 12.0, 14.0, 20.0)]
    assert postures == [body.CRAWL, body.CRAWL, body.STAND, body.STAND, body.CRAWL]


def test_without_a_barrier_there_is_no_climb():
    """Catches a climb over nothing. By hand: top of the climb is then the end of the pause."""
    _, (track,) = tracks(make_site(intruder={"pause_s": 2.0, "approach_angle_deg": 0.0}), [middle()], speed=1.5)
    assert (track.arrive_s, track.climb_s, track.top_s, track.down_s, track.end_s) == pytest.approx((8.0, 10.0, 10.0, 10.0, 18.0))


def test_place_is_continuous_and_velocity_is_its_derivative():
    """Catches jumps between the parts of a path, and a motion blur from the wrong velocity. Difference quotients, away from the
    few instants where the velocity changes; 1e-4 is the rounding of a quotient over 1e-6 s, with room."""
    random = np.random.default_rng(51)
    intruder = {
        "pause_s": {"dist": "uniform", "low": 0.0, "high": 3.0},
        "turn_deg": {"dist": "uniform", "low": -40.0, "high": 40.0},
    }
    plan, found = tracks(make_site(perimeter=[MESH], intruder=intruder), random.random((40, 6)))
    for track in found:
        breaks = np.array([track.arrive_s, track.climb_s, track.top_s, track.down_s])
        times = np.concatenate([random.uniform(0.0, track.end_s - 1e-5, 60), np.maximum(breaks - 5e-7, 0.0)])
        for t in times:
            step = (where(track, t + 1e-6) - where(track, t)) / 1e-6
            assert np.abs(step).max() < track.speed_m_s + 2.0  # no jumps: 2.4 m in at least a second and a half
            if np.abs(breaks - t).min() > 1e-5:
                assert step == pytest.approx(path.place_at(track, t)[5:8], abs=1e-4)


def test_climb_times():
    """Catches a climb time that ignores the fence's height, a spread that is not lognormal. Source: scipy.stats.lognorm with the
    model's median 6 s at 2.4 m, scaled with height, sigma_ln 0.4; up in half the time."""
    for height in (2.4, 3.6):
        units = [middle(climb=u) for u in (0.02, 0.5, 0.9)]
        _, found = tracks(make_site(perimeter=[{**MESH, "barrier_height_m": height}]), units)
        wanted = lognorm(0.4, scale=6.0 * height / 2.4).ppf([0.02, 0.5, 0.9])
        assert [t.down_s - t.climb_s for t in found] == pytest.approx(wanted, rel=1e-9)
        assert [t.top_s - t.climb_s for t in found] == pytest.approx(0.5 * wanted, rel=1e-9)
        assert found[0].climb_height_m == height


def test_a_gate_removes_the_climb():
    """Catches gates at the wrong chainage, gates of other sections. By hand: chainage 30 to 34 m runs around the corner at 32
    m."""
    section = {**MESH, "points_m": [[0.0, 0.0], [32.0, 0.0], [32.0, 8.0]]}
    section["gates"] = [{"name": "gate", "from_m": 30.0, "to_m": 34.0}]
    other = {**MESH, "name": "other", "points_m": [[0.0, -50.0], [40.0, -50.0]]}
    site = make_site(perimeter=[section, other])
    chainages = np.array([29.9, 30.1, 33.9, 34.1])
    _, found = tracks(site, [middle(position=c / 40.0) for c in chainages])
    assert [t.climb_height_m > 0.0 for t in found] == [True, False, False, True]
    assert [t.down_s > t.climb_s for t in found] == [True, False, False, True]
    _, found = tracks(site, [middle(position=c / 40.0) for c in chainages], section=1)
    assert all(t.climb_height_m > 0.0 for t in found)


@pytest.mark.parametrize("closed", [False, True])
@pytest.mark.parametrize("inside", ["left", "right"])
def test_drawn_point_and_headings_against_plane_geometry(closed, inside):
    """Catches a chainage lost at corners, the closing edge forgotten, normals that point out, angles turned clockwise. Source:
    shapely's interpolation along the line; the heading is the inward normal turned by the drawn angle."""
    ring = [[0.0, 0.0], [23.0, -4.0], [31.0, 11.0], [12.0, 9.0], [4.0, 21.0]]
    if closed and inside == "right":
        ring = ring[::-1]
    section = {**FENCE, "points_m": ring, "inside": inside, "closed": closed}
    line = shapely.LineString(ring + ring[:1] if closed else ring)
    random = np.random.default_rng(52)
    units = random.random((200, 6))
    _, found = tracks(make_site(perimeter=[section], camera=[FAR_CAMERA]), units, length=line.length)
    for u, track in zip(units, found):
        spot = line.interpolate(u[0] * line.length)
        assert (track.x, track.y) == pytest.approx((spot.x, spot.y), abs=1e-9)
        before, after = (line.interpolate(max(u[0] * line.length + d, 0.0)) for d in (-1e-6, 1e-6))
        along = math.atan2(after.y - before.y, after.x - before.x)
        normal = along + 0.5 * math.pi if inside == "left" else along - 0.5 * math.pi
        heading = normal + math.radians(-30.0 + 60.0 * u[1])
        assert (track.in_x, track.in_y) == pytest.approx((math.cos(heading), math.sin(heading)), abs=1e-6)
        if closed:  # the first step in is inside the ring
            assert shapely.Polygon(ring).contains(shapely.Point(track.x + 1e-3 * track.out_x, track.y + 1e-3 * track.out_y))


@pytest.mark.parametrize(
    ("directions", "wanted"),
    [
        (["inward"], 1.0),
        (["outward"], -1.0),
        (["outward", "outward"], -1.0),
        (["both"], 0.0),
        (["inward", "outward"], 0.0),
        (["inward", "both"], 0.0),
    ],
)
def test_direction_of_travel(directions, wanted):
    """Catches people who walk in where only leaving is asked about. Source: the model, section 10: outward when every rule is,
    half of them when directions differ or one is both; 0 here stands for half."""
    rules = [{"kind": "line", "perimeter": "fence", "direction": d} for d in directions]
    units = [middle(direction=u) for u in np.linspace(0.05, 0.95, 10)]
    _, found = tracks(make_site(rule=rules), units)
    assert np.mean([t.inward for t in found]) == wanted
    assert all(t.in_y == pytest.approx(t.inward) for t in found)
    assert all(where(t, 0.0)[1] == pytest.approx(-12.0 * t.inward) for t in found)


def test_paths_stop_at_buildings_and_at_a_second_fence():
    """Catches walkers who come through a building. Source: shapely, the leg's distance to the first face or second fence;
    start at the building's face outside, stop at it inside."""
    obstacles = [
        {"name": "hut", "footprint_m": [[4.0, 3.0], [13.0, 6.0], [8.0, 14.0]], "height_m": 3.0},
        {"name": "shed", "footprint_m": [[22.0, -9.0], [34.0, -4.0], [30.0, -12.0]], "height_m": 3.0},
    ]
    inner = {**MESH, "name": "inner", "points_m": [[14.0, 9.0], [60.0, 4.0]]}
    outer = {**MESH, "name": "outer", "points_m": [[-5.0, -3.0], [16.0, -8.0]]}
    site = make_site(perimeter=[MESH, inner, outer], obstacle=obstacles, camera=[FAR_CAMERA])
    faces = shapely.union_all([shapely.Polygon(o["footprint_m"]).exterior for o in obstacles])
    fences = shapely.union_all([shapely.LineString(s["points_m"]) for s in (inner, outer)])
    random = np.random.default_rng(53)
    _, found = tracks(site, random.random((300, 6)))
    for track in found:
        spot = shapely.Point(track.x, track.y)
        for length, sign in ((track.in_length_m, -1.0), (track.out_length_m, 1.0)):
            dx, dy = (track.in_x, track.in_y) if sign < 0 else (track.out_x, track.out_y)
            leg = shapely.LineString([(track.x, track.y), (track.x + sign * 12.0 * dx, track.y + sign * 12.0 * dy)])
            met = leg.intersection(shapely.union(faces, fences))
            assert length == pytest.approx(12.0 if met.is_empty else spot.distance(met), abs=1e-9)
    cut = [(t.in_length_m < 11.99, t.out_length_m < 11.99) for t in found]
    assert np.sum(cut, axis=0).min() > 60


def test_paths_go_on_until_the_field_is_left():
    """Catches a stay in an area that ends after path_m. Source: shapely: the last exit of the ray from the field's polygon,
    however many times it leaves it before."""
    field = [[-10.0, 5.0], [50.0, 5.0], [50.0, 40.0], [30.0, 40.0], [20.0, 6.0], [10.0, 40.0], [-10.0, 40.0]]
    rules = [{"kind": "area", "points_m": [*field, field[0]]}]
    site = make_site(rule=rules)
    polygon = shapely.Polygon(field)
    random = np.random.default_rng(54)
    _, found = tracks(site, random.random((200, 6)))
    several = 0
    for track in found:
        ray = shapely.LineString([(track.x, track.y), (track.x + 500.0 * track.out_x, track.y + 500.0 * track.out_y)])
        inside = ray.intersection(polygon)
        several += inside.geom_type == "MultiLineString"
        last = max(shapely.Point(track.x, track.y).distance(shapely.Point(c)) for c in shapely.get_coordinates(inside))
        assert track.out_length_m == pytest.approx(max(last, 12.0), abs=1e-9)
        assert track.in_length_m == pytest.approx(12.0, abs=1e-9)
    assert several > 5


def test_speed_is_never_so_slow_that_a_path_lasts_for_ever():
    """Catches a standstill from a wide normal distribution. The documented floor of 0.05 m/s."""
    row = np.array([2.0, 0.3, 1.0, 0.0, 1.0, 0.0])  # normal, mean 0.3, sd 1
    assert path.draw_speed(row, np.zeros((1, 2)), 0.01) == 0.05
    assert path.draw_speed(row, np.zeros((1, 2)), 0.5) == pytest.approx(0.3)
