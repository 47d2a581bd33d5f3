"""Where a body seems to stand and which lines it seems to cross: values by hand, the camera's geometry, every look one by one."""

from __future__ import annotations

import math

import numpy as np
import pytest
import shapely
from kernel_sites import CAMERA, FENCE, make_site

from fencecast.camera import camera_geometry
from fencecast.kernels.arming import EVENT_WIDTH, FROM_S, MAX_EVENTS, RULE, TO_S
from fencecast.kernels.pack import pack_plan
from fencecast.kernels.pose import fill_pose, make_poses, optics_of, pose_of
from fencecast.kernels.seen import arm_seen_looks, find_seen_events, may_be_in_frame, seen_ground
from fencecast.kernels.ways import Way, place_on_way

EQUIDISTANT = {"focal_length_mm": 3.0, "f_number": 1.0, "projection": "equidistant"}
RULES = [
    {"kind": "line", "perimeter": "fence", "offset_m": 1.0, "direction": "both", "time_window_s": 0.7},
    {"kind": "line", "points_m": [[0.0, -1.5], [20.0, -0.5], [40.0, -1.5]], "direction": "inward"},
    {"kind": "area", "points_m": [[8.0, 2.0], [30.0, 2.0], [34.0, 6.0], [20.0, 4.0], [8.0, 7.0], [8.0, 2.0]], "dwell_s": 0.6},
]


def set_up(**tables):
    """(site, plan, pose, optics) of one camera without mounting errors."""
    site = make_site(**tables)
    plan = pack_plan(site)
    pose = pose_of(make_poses(1), 0)
    fill_pose(plan.cameras, 0, 0.0, 0.0, 0.0, pose)
    return site, plan, pose, optics_of(plan.cameras, 0)


@pytest.fixture(scope="module", params=[{}, EQUIDISTANT], ids=["rectilinear", "equidistant"])
def looking(request):
    return set_up(rule=RULES, **({"lens": request.param} if request.param else {}))


def test_a_base_above_ground_seems_farther_out(looking):
    """2.4 m up, 10 m from a camera 4 m high: 10 x 4 / 1.6 = 25.0 m; nothing as high as the camera has a ground point."""
    _, _, pose, optics = looking
    x, y, stands = seen_ground(pose, optics, 10.0, 2.0, 2.4, 0.0, 0.0)
    assert stands and (x, y) == pytest.approx((25.0, 2.0))
    for error in (0.0, 1.0):
        assert not seen_ground(pose, optics, 10.0, 2.0, 4.0, error, error)[2]
        assert not seen_ground(pose, optics, 10.0, 2.0, 6.0, error, error)[2]
    assert not seen_ground(pose, optics, 200.0, 2.0, 3.9, 0.0, -100.0)[2]  # moved above the horizon


@pytest.mark.parametrize("error", [(0.0, 0.0), (1.0, 0.0), (-0.7, 2.0), (3.0, -1.5)])
def test_the_seen_point_is_the_ground_under_the_moved_picture(looking, error):
    """The camera's own geometry: the picture of the base, moved, back to the ground. Catches an axis or sign exchanged."""
    site, _, pose, optics = looking
    camera = camera_geometry(site, site.camera[0])
    for x, y, base in ((6.0, 0.0, 0.0), (18.0, 5.0, 0.5), (35.0, -4.0, 1.8), (3.0, 3.0, 0.0)):
        u, v = camera.position_px(x, y, base)
        expected = camera.ground_point(u + error[0], v + error[1])
        seen_x, seen_y, stands = seen_ground(pose, optics, x, y, base, *error)
        assert stands == (expected is not None)
        if stands:
            assert (seen_x, seen_y) == pytest.approx(expected, rel=1e-9)


def random_way(random):
    heading = random.uniform(0.0, 2.0 * math.pi)
    before, after, speed = random.uniform(0.0, 15.0), random.uniform(0.0, 15.0), random.uniform(0.2, 6.0)
    pause = random.choice([0.0, 3.0])
    arrive = before / speed
    leave = arrive + pause
    base = random.choice([0.0, 0.0, random.uniform(0.0, 3.9)])
    x, y = random.uniform(2.0, 38.0), random.uniform(-4.0, 8.0)
    return Way(
        x, y, math.cos(heading), math.sin(heading), before, after, speed, arrive, leave, leave + after / speed, base
    )  # fmt: skip


def windows_by_hand(site, plan, pose, optics, way, phase, rate, last, error):
    """Armed windows (rule, from, to) by every look one by one and a plane-geometry library; a look without a ground point ends
    every stay."""
    windows = []
    times = [(phase + k) / rate for k in range(last + 1)]
    points = []
    for time in times:
        there = place_on_way(way, time, 0)
        x, y, stands = seen_ground(pose, optics, there.x, there.y, way.base_m, *error)
        points.append((x, y) if stands else None)
    for rule, row in enumerate(site.rule):
        edges = plan.scene.rule_edge[plan.scene.rule_first[rule] : plan.scene.rule_first[rule + 1]]
        entered = math.nan
        if row.kind == "area":
            area = shapely.Polygon(edges[:, :2])
            if points[0] and area.contains(shapely.Point(points[0])):
                entered = 0.0
        for a, b, from_s, to_s in zip(points, points[1:], times, times[1:]):
            meetings = []
            if a and b and a != b:
                step = shapely.LineString([a, b])
                for edge in edges:
                    met = step.intersection(shapely.LineString([edge[:2], edge[2:]]))
                    if not met.is_empty:
                        normal = np.array([edge[1] - edge[3], edge[2] - edge[0]])
                        sense = 1 if normal @ np.subtract(b, a) > 0.0 else -1
                        meetings.append((from_s + step.project(met) / step.length * (to_s - from_s), sense))
            if row.kind == "line":
                wanted = {"inward": (1,), "both": (1, -1)}[row.direction]
                windows += [(rule, t - row.time_window_s, t + row.time_window_s) for t, sense in meetings if sense in wanted]
                continue
            inside = b is not None and area.contains(shapely.Point(b))
            if inside and math.isnan(entered):
                entered = max(meetings)[0] if meetings else to_s
            elif not inside and not math.isnan(entered):
                left = min(meetings)[0] if meetings else from_s
                if entered + row.dwell_s <= left:
                    windows.append((rule, entered + row.dwell_s, left))
                entered = math.nan
        if not math.isnan(entered) and entered + row.dwell_s <= way.end_s:
            windows.append((rule, entered + row.dwell_s, way.end_s))
    return sorted(windows)


def test_windows_against_every_look(looking):
    """160 ways with and without errors of the foot point. Catches a stride that steps over a line or a short stay, a crossing
    counted twice at a corner of a line, a sense exchanged, a dwell not reset, a ground point that comes and goes."""
    site, plan, pose, optics = looking
    random = np.random.default_rng(5)
    events, entered = np.zeros((MAX_EVENTS, EVENT_WIDTH)), np.zeros(3)
    crossed, risen = 0, 0
    for _ in range(160):
        way, phase, rate = random_way(random), random.random(), 5.0
        error = (0.0, 0.0) if random.random() < 0.5 else tuple(2.0 * random.standard_normal(2))
        last = int(way.end_s * rate - phase)
        if last < 0:
            continue
        count = find_seen_events(plan.scene, 0, pose, optics, way, phase, rate, last, *error, entered, events)
        found = sorted((int(e[RULE]), e[FROM_S], e[TO_S]) for e in events[:count])
        expected = windows_by_hand(site, plan, pose, optics, way, phase, rate, last, error)
        assert [f[0] for f in found] == [e[0] for e in expected]
        assert np.array(found).reshape(-1, 3) == pytest.approx(np.array(expected).reshape(-1, 3), abs=1e-6)
        crossed += len(expected)
        risen += bool(expected) and way.base_m > 0.0
    assert crossed > 60 and risen > 8


def test_a_way_through_a_corner_of_a_line_crosses_it_once():
    """Through the point where two pieces of a line meet, with a look exactly there: one window. Catches ends that belong to both
    pieces, or to both steps."""
    _, plan, pose, optics = set_up(rule=RULES[1:2])
    events = np.zeros((MAX_EVENTS, EVENT_WIDTH))
    way = Way(20.0, -0.5, 0.0, 1.0, 2.5, 1.5, 2.0, 1.25, 1.25, 2.0, 0.0)
    assert find_seen_events(plan.scene, 0, pose, optics, way, 0.0, 4.0, 8, 0.0, 0.0, np.zeros(1), events) == 1
    assert events[0, [FROM_S, TO_S]].tolist() == [0.25, 2.25]


def test_armed_and_needed_looks_by_hand():
    """Looks at 0.1, 0.3, ... s; a window from 0.65 to 1.05 s arms looks 3 and 4 (0.7 and 0.9 s), 3 of 5 need the four before."""
    events = np.zeros((MAX_EVENTS, EVENT_WIDTH))
    events[0, [FROM_S, TO_S]] = 0.65, 1.05
    events[1, [FROM_S, TO_S]] = 2.25, 2.45
    armed, needed, bucket = np.ones(64, np.uint8), np.ones(64, np.uint8), np.ones(64, np.int64)
    first, looks = arm_seen_looks(events, 1, 0.5, 5.0, 5, 20, armed, needed, bucket)
    assert (first, looks) == (0, 5)
    assert armed[:5].tolist() == [0, 0, 0, 1, 1] and needed[:5].tolist() == [1, 1, 1, 1, 1] and not bucket[:5].any()
    first, looks = arm_seen_looks(events, 2, 0.5, 5.0, 3, 20, armed, needed, bucket)
    assert (first, looks) == (1, 11)
    assert armed[:11].tolist() == [0, 0, 1, 1, 0, 0, 0, 0, 0, 0, 1]
    assert needed[:11].tolist() == [1, 1, 1, 1, 0, 0, 0, 0, 1, 1, 1]
    assert arm_seen_looks(events, 0, 0.5, 5.0, 5, 20, armed, needed, bucket) == (0, 0)
    assert arm_seen_looks(events, 1, 0.5, 5.0, 5, 2, armed, needed, bucket) == (0, 0)  # the way ends before


def test_a_way_left_out_is_never_in_the_frame():
    """Every body of a way that may not be in the frame is beside the picture at all of its looks. Catches a side exchanged."""
    site, _, pose, optics = set_up(camera=[{**CAMERA, "position_m": [10.0, 2.0], "aim_m": [20.0, -3.0]}], perimeter=[FENCE])
    camera = camera_geometry(site, site.camera[0])
    random = np.random.default_rng(8)
    out, kept = 0, 0
    for _ in range(300):
        way = random_way(random)
        may = may_be_in_frame(pose, optics, way, 2.0)
        ends = [(way.x + d * way.heading_x, way.y + d * way.heading_y) for d in np.linspace(-way.before_m, way.after_m, 21)]
        points = [(x + dx, y + dy, z) for x, y in ends for dx in (-1.0, 1.0) for dy in (-1.0, 1.0) for z in (way.base_m, 1.0)]
        inside = any(camera.in_frame(*point) for point in points)
        assert may or not inside
        out, kept = out + (not may), kept + inside
    assert out > 30 and kept > 30
