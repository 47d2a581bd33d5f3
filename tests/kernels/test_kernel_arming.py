"""When rules are armed: crossings of lines and stays in fields against a plane-geometry library and hand values."""

from __future__ import annotations

import math

import numpy as np
import pytest
import shapely
from kernel_sites import CAMERA, FENCE, make_site

from fencecast.kernels import arming, crossing, path
from fencecast.kernels.arming import AT_X, AT_Y, CROSSED_S, EVENT_WIDTH, FROM_S, MAX_EVENTS, NORMAL_X, NORMAL_Y, RULE, TO_S
from fencecast.kernels.pack import pack_plan
from fencecast.kernels.work import make_work
from fencecast.physics import body
from fencecast.site.geometry import area_polygon, rule_line

MESH = {**FENCE, "barrier": "mesh", "barrier_height_m": 2.4}
FAR = {**CAMERA, "position_m": [500.0, 500.0]}


def events_of(plan, track):
    """The armed windows of a track, sorted by rule and time."""
    table = np.zeros((MAX_EVENTS, EVENT_WIDTH))
    count = arming.find_events(plan.scene, track, table)
    return table[np.lexsort((table[:count, FROM_S], table[:count, RULE]))] if count else table[:0]


def random_tracks(plan, count, seed, length=40.0, speed=1.3, section=0):
    random = np.random.default_rng(seed)
    return [
        path.draw_track(plan.scene, plan.intruder, section, 0.0, length, body.WALK, speed, *random.random(6))
        for _ in range(count)
    ]


def one_track(plan, u_position=0.5, speed=1.0):
    return path.draw_track(plan.scene, plan.intruder, 0, 0.0, 40.0, body.WALK, speed, u_position, 0.5, 0.5, 0.5, 0.5, 0.5)


def legs(track):
    """The two legs as shapely lines, and the time at which each begins."""
    start = (track.x - track.in_length_m * track.in_x, track.y - track.in_length_m * track.in_y)
    end = (track.x + track.out_length_m * track.out_x, track.y + track.out_length_m * track.out_y)
    spot = (track.x, track.y)
    return ((shapely.LineString([start, spot]), 0.0), (shapely.LineString([spot, end]), track.down_s))


def crossings(track, line):
    """Reference: (time, place, inward sense, inward normal) of every crossing of a polyline with inside on its left; those at the
    drawn point happen at the top of the climb, and a leg that ends on an edge (cut there) does not cross it."""
    found = []
    for a, b in zip(line[:-1], line[1:]):
        edge = shapely.LineString([a, b])
        normal = np.array([a[1] - b[1], b[0] - a[0]]) / edge.length
        on_it = edge.distance(shapely.Point(track.x, track.y)) < 1e-7
        if on_it:
            senses = {np.sign(normal @ (track.in_x, track.in_y)), np.sign(normal @ (track.out_x, track.out_y))}
            if len(senses) == 1:
                found.append((track.top_s, (track.x, track.y), senses.pop(), normal))
            continue
        for k, (leg, begin) in enumerate(legs(track)):
            met = leg.intersection(edge)
            if edge.distance(shapely.Point(leg.coords[0 if k == 0 else 1])) < 1e-7:
                continue
            if met.geom_type == "Point" and not met.is_empty:
                along = np.subtract(leg.coords[1], leg.coords[0])
                time = begin + shapely.Point(leg.coords[0]).distance(met) / track.speed_m_s
                found.append((time, met.coords[0], np.sign(normal @ along), normal))
    return sorted(found, key=lambda f: f[0])


@pytest.mark.parametrize("direction", ["inward", "outward", "both"])
@pytest.mark.parametrize("barrier", ["none", "mesh"])
@pytest.mark.parametrize("offset", [0.0, 1.5, -2.0])
def test_line_events_against_plane_geometry(direction, barrier, offset):
    """Catches a crossing missed at a corner or beyond a line's end, senses swapped, the climb forgotten in t_c, offsets on the
    wrong side. Source: shapely: where the two legs cut the offset line. 1e-9: rounding. The line has an obtuse, a sharp and a
    reflex corner, so that some legs cross it more than once and some walk past its ends."""
    points = [[0.0, 0.0], [14.0, -2.0], [19.0, 9.0], [27.0, 1.0], [40.0, 3.0]]
    length = shapely.LineString(points).length
    section = {**FENCE, "points_m": points, "barrier": barrier}
    rule = {"kind": "line", "perimeter": "fence", "direction": direction, "offset_m": offset, "time_window_s": 0.7}
    intruder = {
        "approach_angle_deg": {"dist": "uniform", "low": -50.0, "high": 50.0},
        "turn_deg": {"dist": "uniform", "low": -35.0, "high": 35.0},
        "pause_s": 1.5,
    }
    site = make_site(perimeter=[section], rule=[rule], intruder=intruder, camera=[FAR])
    plan = pack_plan(site)
    line = rule_line(site.rule[0], site.perimeter)
    wanted_sense = {"inward": (1,), "outward": (-1,), "both": (1, -1)}[direction]
    counts = []
    for track in random_tracks(plan, 250, 61, length):
        wanted = [c for c in crossings(track, line) if c[2] in wanted_sense]
        found = events_of(plan, track)
        assert len(found) == len(wanted), track
        counts.append(len(wanted))
        for row, (time, place, sense, normal) in zip(found, wanted):
            assert row[CROSSED_S] == pytest.approx(time, abs=1e-9)
            assert (row[FROM_S], row[TO_S]) == pytest.approx((time - 0.7, time + 0.7), abs=1e-9)
            assert (row[AT_X], row[AT_Y]) == pytest.approx(place, abs=1e-9)
            assert (row[NORMAL_X], row[NORMAL_Y]) == pytest.approx(sense * normal, abs=1e-9)  # along the way that he goes
    # A leg that must end inside meets a line outside of the fence at most once on the way in.
    twice = {2} if offset > 0.0 or direction != "inward" else set()
    assert set(counts) >= ({0, 1} | twice if barrier == "none" and offset else {1})


def test_a_line_without_length_beyond_its_ends():
    """Catches a line that is prolonged for ever. By hand: a rule on points of its own, x from 10 to 20 at y = 3, walkers
    straight in: armed exactly for those who cross between 10 and 20."""
    rule = {"kind": "line", "points_m": [[10.0, 3.0], [20.0, 3.0]]}
    plan = pack_plan(make_site(rule=[rule], intruder={"approach_angle_deg": 0.0}))
    for x in (0.5, 9.9, 10.1, 15.0, 19.9, 20.1, 39.0):
        found = events_of(plan, one_track(plan, x / 40.0))
        assert len(found) == (1 if 10.0 < x < 20.0 else 0)
        if len(found):
            assert found[0, CROSSED_S] == pytest.approx(15.0)  # 12 m to the perimeter, 3 m more at 1 m/s


def test_a_path_that_stops_at_a_fence_does_not_cross_it():
    """Catches a crossing that the last bit of the leg's length decides: three in four walkers were taken to cross a second
    fence at whose foot their path ends. Source: the model: paths are cut at a second barrier."""
    random = np.random.default_rng(62)
    for _ in range(40):
        turn = random.uniform(0.0, 2.0 * math.pi)
        matrix = np.array([[math.cos(turn), math.sin(turn)], [-math.sin(turn), math.cos(turn)]])
        outer = {**FENCE, "points_m": np.array([[0.0, 0.0], [40.0, 0.0]]) @ matrix}
        inner = {**MESH, "name": "inner", "points_m": np.array([[-20.0, 5.0], [60.0, 5.0]]) @ matrix}
        before = {**MESH, "name": "before", "points_m": np.array([[-20.0, -5.0], [60.0, -5.0]]) @ matrix}
        rules = [{"kind": "line", "perimeter": name} for name in ("fence", "inner", "before")]
        plan = pack_plan(make_site(perimeter=[outer, inner, before], rule=rules, camera=[FAR]))
        for track in random_tracks(plan, 10, int(random.integers(1 << 30))):
            assert track.out_length_m < 8.0
            found = events_of(plan, track)
            assert found[:, RULE].tolist() == [0.0]


def stays(track, polygon):
    """Reference: [(entry, exit)] in seconds of the stays of a path inside a polygon; a boundary at the drawn point is passed
    at the top of the climb."""
    times = []
    for k, (leg, begin) in enumerate(legs(track)):
        common = leg.intersection(polygon)
        for piece in getattr(common, "geoms", [common]):
            if piece.geom_type != "LineString" or piece.length < 1e-9:
                continue
            ends = sorted(shapely.Point(leg.coords[0]).distance(shapely.Point(c)) for c in (piece.coords[0], piece.coords[-1]))
            span = [begin + e / track.speed_m_s for e in ends]
            if k == 0 and abs(ends[1] - leg.length) < 1e-7:
                span[1] = track.top_s
            if k == 1 and ends[0] < 1e-7:
                span[0] = track.top_s
            times.append(span)
    joined = []
    for start, end in sorted(times):
        if joined and abs(joined[-1][1] - start) < 1e-9:
            joined[-1][1] = end
        else:
            joined.append([start, end])
    return joined


NOTCHED = [[-9.0, 2.0], [19.0, 2.0], [20.0, 7.0], [21.0, 2.0], [50.0, 2.0], [50.0, 30.0], [-9.0, 30.0], [-9.0, 2.0]]


@pytest.mark.parametrize("dwell", [0.0, 2.5, 6.0])
@pytest.mark.parametrize("place", ["on its edge", "outside", "inside", "all around"])
def test_field_events_against_plane_geometry(dwell, place):
    """Catches a dwell that goes on after leaving, a start inside that is taken for outside, an exit forgotten, offsets that
    grow the field. Source: shapely: where the legs run through the polygon, stays of at least dwell_s, armed from entry +
    dwell to exit. 1e-9 s: rounding. Fields are notched, so that some paths leave and come back; the perimeter runs along the
    field's edge, outside of it, or inside."""
    ring = [[0.0, 0.0], [40.0, 0.0], [40.0, 26.0], [26.0, 26.0], [20.0, 2.5], [12.0, 26.0], [0.0, 26.0]]
    section = {**FENCE, "points_m": ring, "closed": True}
    field = {
        "on its edge": {"perimeter": "fence"},
        "outside": {"points_m": NOTCHED},
        "inside": {"perimeter": "fence", "offset_m": -3.0},
        "all around": {"points_m": [[-9.0, -9.0], [45.0, -9.0], [45.0, 9.0], [-9.0, 9.0], [-9.0, -9.0]]},
    }
    rule = {"kind": "area", "dwell_s": dwell, **field[place]}
    intruder = {
        "approach_angle_deg": {"dist": "uniform", "low": -60.0, "high": 60.0},
        "turn_deg": {"dist": "uniform", "low": -25.0, "high": 25.0},
        "pause_s": 1.0,
    }
    site = make_site(perimeter=[section], rule=[rule], intruder=intruder, camera=[FAR])
    plan = pack_plan(site)
    polygon = shapely.Polygon(area_polygon(site.rule[0], site.perimeter))
    several = 0
    for track in random_tracks(plan, 300, 63, 40.0):
        wanted = [(a, b) for a, b in stays(track, polygon) if b - a >= dwell]
        if any(abs(b - a - dwell) < 1e-6 for a, b in stays(track, polygon)):
            continue
        found = events_of(plan, track)
        assert len(found) == len(wanted)
        several += len(wanted) > 1
        for row, (entry, leave) in zip(found, wanted):
            assert (row[FROM_S], row[TO_S], row[CROSSED_S]) == pytest.approx((entry + dwell, leave, entry), abs=1e-9)
            x, y = path.place_at(track, entry)[:2]
            assert (row[AT_X], row[AT_Y]) == pytest.approx((x, y), abs=1e-6)
            assert math.hypot(row[NORMAL_X], row[NORMAL_Y]) == pytest.approx(1.0)
            if entry > 0.0:  # the normal points into the field
                inside = shapely.Point(x + 1e-4 * row[NORMAL_X], y + 1e-4 * row[NORMAL_Y])
                assert polygon.contains(inside)
    assert several > 5 or place != "outside" or dwell > 0.0


def test_dwell_by_hand():
    """Catches dwell counted from the fence, a stay too short that arms. By hand: a strip from 2 to 6 m inside, straight in at
    1 m/s from 12 m: inside from 14 to 18 s."""
    strip = [[-50.0, 2.0], [90.0, 2.0], [90.0, 6.0], [-50.0, 6.0], [-50.0, 2.0]]
    for dwell, wanted in ((0.0, [[14.0, 18.0, 14.0]]), (3.0, [[17.0, 18.0, 14.0]]), (4.5, [])):
        rule = {"kind": "area", "points_m": strip, "dwell_s": dwell}
        plan = pack_plan(make_site(rule=[rule], intruder={"approach_angle_deg": 0.0}))
        found = events_of(plan, one_track(plan))
        assert found[:, [FROM_S, TO_S, CROSSED_S]] == pytest.approx(np.array(wanted).reshape(-1, 3))


def armed(site, track_maker, phase):
    """Everything that `arm_looks` lays out, cut to the looks in use."""
    plan = pack_plan(site)
    track = track_maker(plan)
    cameras = plan.cameras.bearing_rad.size
    work = make_work(cameras, plan.bands.low_um.size, plan.decision.node_z.size, plan.decision.confirm_n - 1, 24, 400)
    count = arming.find_events(plan.scene, track, work.events)
    first, last = crossing.arm_looks(plan, track, phase, count, work)
    n = int(last - first + 1) if first >= 0 else 0
    events = work.events[:count].copy()
    return plan, track, int(first), n, work, events


@pytest.mark.parametrize("confirm", [[3, 5], [1, 1], [2, 3], [5, 8]])
def test_armed_and_needed_looks(confirm):
    """Catches a window that is cut or a look too wide, needed looks of another n, looks before the path begins or after it ends,
    rules heard by other cameras. Reference: every look k of the path at (phase + k) / rate, tried one by one."""
    strip = [[-50.0, 2.0], [90.0, 2.0], [90.0, 6.0], [-50.0, 6.0], [-50.0, 2.0]]
    rules = [
        {"kind": "line", "perimeter": "fence", "cameras": ["C1"]},
        {"kind": "line", "perimeter": "fence", "offset_m": 1.0, "cameras": ["C2"]},
        {"kind": "area", "points_m": strip, "dwell_s": 1.2, "cameras": ["C2", "C3"]},
    ]
    cameras = [{**CAMERA, "mark": mark} for mark in ("C1", "C2", "C3", "C4")]
    random = np.random.default_rng(64)
    for _ in range(40):
        rate, phase = float(random.uniform(2.0, 9.0)), float(random.random())
        window = float(random.uniform(0.3, 20.0))
        site = make_site(
            rule=[{**rule, "time_window_s": window} if rule["kind"] == "line" else rule for rule in rules],
            camera=cameras,
            decision={"looks_per_s": rate, "confirm": confirm},
            intruder={"approach_angle_deg": 0.0},
        )
        speed = float(random.uniform(0.7, 5.0))
        plan, track, first, count, work, events = armed(site, lambda p, v=speed: one_track(p, speed=v), phase)
        looks = np.arange(int(track.end_s * rate) + 2)
        times = (looks + phase) / rate
        looks, times = looks[times <= track.end_s], times[times <= track.end_s]
        heard = np.zeros((4, len(looks)), dtype=bool)
        alarm = np.full((4, len(looks)), np.inf)
        for event in events:
            inside = (times >= event[FROM_S]) & (times <= event[TO_S])
            for k, marks in enumerate((["C1"], ["C2"], ["C2", "C3"])):
                if event[RULE] == k:
                    by_camera = np.outer([c["mark"] in marks for c in cameras], inside)
                    heard |= by_camera
                    alarm = np.where(by_camera, np.minimum(alarm, np.maximum(times, event[CROSSED_S])), alarm)
        needed = heard.copy()
        for back in range(1, confirm[1]):
            needed[:, : len(looks) - back] |= heard[:, back:]
        assert first == np.flatnonzero(needed.any(axis=0))[0]
        assert first + count - 1 == np.flatnonzero(heard.any(axis=0))[-1]
        part = slice(first, first + count)
        assert np.array_equal(work.armed[:, :count] != 0, heard[:, part])
        assert np.array_equal(work.needed[:, :count] != 0, needed[:, part])
        assert work.alarm_time[:, :count] == pytest.approx(alarm[:, part], abs=1e-9)


def test_depth_and_delay_by_hand():
    """Catches a depth behind the line, a delay before the crossing. By hand: straight in at 2 m/s over a line at 3 m, 4 looks a
    second, phase 0.5: t_c = 7.5 s; looks before it raise the alarm at t_c, at depth 0; later ones 2 m/s further in."""
    rule = {"kind": "line", "perimeter": "fence", "offset_m": 3.0}
    site = make_site(rule=[rule], decision={"looks_per_s": 4.0}, intruder={"approach_angle_deg": 0.0})
    _, _, first, count, work, _ = armed(site, lambda plan: one_track(plan, speed=2.0), 0.5)
    times = (first + np.arange(count) + 0.5) / 4.0
    in_window = np.abs(times - 7.5) <= 1.0
    late = np.maximum(times - 7.5, 0.0)
    assert in_window.sum() == 8
    assert work.armed[0, :count].astype(bool).tolist() == in_window.tolist()
    assert work.delay[0, :count][in_window] == pytest.approx(late[in_window], abs=1e-12)
    assert work.depth[0, :count][in_window] == pytest.approx(2.0 * late[in_window], abs=1e-12)
    assert np.isinf(work.alarm_time[0, :count][~in_window]).all()


def test_nothing_armed():
    """Catches looks rendered for nobody. A rule for leaving, people who walk in."""
    rules = [{"kind": "line", "points_m": [[100.0, 3.0], [120.0, 3.0]]}]
    _, _, first, count, _, _ = armed(make_site(rule=rules), one_track, 0.3)
    assert (first, count) == (-1, 0)
