"""When each rule is armed: the time windows of a crossing in which a confirmed look raises an alarm."""

import math

import numpy as np

from fencecast.jit import compiled_inline
from fencecast.kernels.path import place_at
from fencecast.kernels.types import LINE_RULE

# Columns of the event table.
RULE, FROM_S, TO_S, CROSSED_S, AT_X, AT_Y, NORMAL_X, NORMAL_Y = range(8)
EVENT_WIDTH = 8
MAX_EVENTS = 64
_TOUCH_M = 1.0e-6


@compiled_inline
def _add_event(events, count, rule, from_s, to_s, crossed_s, x, y, nx, ny):
    """Append one armed window; the table is larger than any sensible path crosses lines, later ones are dropped."""
    if count >= MAX_EVENTS:
        return count
    row = events[count]
    row[RULE], row[FROM_S], row[TO_S], row[CROSSED_S] = rule, from_s, to_s, crossed_s
    row[AT_X], row[AT_Y], row[NORMAL_X], row[NORMAL_Y] = x, y, nx, ny
    return count + 1


@compiled_inline
def _leg_crossing(track, leg, edge):
    """Where a leg of the path crosses an edge away from the drawn point: (crosses, time, x, y, sense).

    Leg 0 comes in, 1 goes out. Sense is +1 when the leg passes to the edge's left (inward), -1 to its right.
    """
    if leg == 0:
        dx, dy, length = track.in_x, track.in_y, track.in_length_m
        ax, ay = track.x - length * dx, track.y - length * dy
    else:
        dx, dy, length = track.out_x, track.out_y, track.out_length_m
        ax, ay = track.x, track.y
    ex, ey = edge[2] - edge[0], edge[3] - edge[1]
    determinant = dx * ey - dy * ex
    if determinant == 0.0:
        return False, 0.0, 0.0, 0.0, 0
    rx, ry = edge[0] - ax, edge[1] - ay
    along = (rx * ey - ry * ex) / determinant
    t = (rx * dy - ry * dx) / determinant
    # Not at the drawn point, which is `_point_crossing`'s, nor at the far end: a path that stops at a fence does not cross it.
    if not (_TOUCH_M < along < length - _TOUCH_M and 0.0 <= t < 1.0):
        return False, 0.0, 0.0, 0.0, 0
    start = 0.0 if leg == 0 else track.down_s
    return True, start + along / track.speed_m_s, ax + along * dx, ay + along * dy, 1 if determinant < 0.0 else -1


@compiled_inline
def _point_crossing(track, edge):
    """Sense (+1 inward, -1 outward, 0 none) in which the path passes an edge that the drawn point lies on."""
    ex, ey = edge[2] - edge[0], edge[3] - edge[1]
    length2 = ex * ex + ey * ey
    rx, ry = track.x - edge[0], track.y - edge[1]
    t = (rx * ex + ry * ey) / length2
    if not 0.0 <= t < 1.0:
        return 0
    off = abs(rx * ey - ry * ex) / math.sqrt(length2)
    if off > _TOUCH_M:
        return 0
    coming = track.in_y * ex - track.in_x * ey  # > 0: towards the left of the edge
    going = track.out_y * ex - track.out_x * ey
    if coming > 0.0 and going > 0.0:
        return 1
    if coming < 0.0 and going < 0.0:
        return -1
    return 0


@compiled_inline
def _unit_left(edge):
    """Unit normal to the left of an edge: inward."""
    ex, ey = edge[2] - edge[0], edge[3] - edge[1]
    length = math.hypot(ex, ey)
    return -ey / length, ex / length


@compiled_inline
def _line_events(scene, track, rule, events, count):
    """Every crossing of a rule line in its armed direction: [t_c - window, t_c + window]."""
    direction = scene.rule_direction[rule]
    window = scene.rule_time_window_s[rule]
    for k in range(scene.rule_first[rule], scene.rule_first[rule + 1]):
        edge = scene.rule_edge[k]
        nx, ny = _unit_left(edge)
        sense = _point_crossing(track, edge)
        if sense != 0 and (direction == 0 or direction == sense):
            top = track.top_s
            count = _add_event(events, count, rule, top - window, top + window, top, track.x, track.y, sense * nx, sense * ny)
        for leg in range(2):
            crosses, time, x, y, sense = _leg_crossing(track, leg, edge)
            if crosses and (direction == 0 or direction == sense):
                count = _add_event(events, count, rule, time - window, time + window, time, x, y, sense * nx, sense * ny)
    return count


@compiled_inline
def _inside(scene, rule, x, y):
    """Whether a point is inside a area rule's polygon (even-odd)."""
    inside = False
    for k in range(scene.rule_first[rule], scene.rule_first[rule + 1]):
        e = scene.rule_edge[k]
        if (e[1] > y) != (e[3] > y) and x < e[0] + (y - e[1]) * (e[2] - e[0]) / (e[3] - e[1]):
            inside = not inside
    return inside


@compiled_inline
def _field_events(scene, track, rule, events, count):
    """Every stay inside an area of at least dwell_s: [entry + dwell, exit]; leaving resets the dwell.

    Entries and exits are found exactly along the legs; an area whose edge runs through the drawn point is entered or left at the
    top of the climb (without one at the end of the pause), like a line.
    """
    begin = place_at(track, 0.0)
    x, y = begin.x, begin.y
    # Step a hair along the way, so that a path that starts on the edge is on one side of it.
    inside = _inside(scene, rule, x + 1e-7 * track.in_x, y + 1e-7 * track.in_y)
    entry, entry_x, entry_y = 0.0, x, y
    entry_nx, entry_ny = track.in_x, track.in_y
    now = -1.0
    while True:
        best, bx, by, bnx, bny = math.inf, 0.0, 0.0, 0.0, 0.0
        for k in range(scene.rule_first[rule], scene.rule_first[rule + 1]):
            edge = scene.rule_edge[k]
            nx, ny = _unit_left(edge)
            sense = _point_crossing(track, edge)
            if sense != 0 and now < track.top_s < best:
                best, bx, by, bnx, bny = track.top_s, track.x, track.y, sense * nx, sense * ny
            for leg in range(2):
                crosses, time, cx, cy, sense = _leg_crossing(track, leg, edge)
                if crosses and now < time < best:
                    best, bx, by, bnx, bny = time, cx, cy, sense * nx, sense * ny
        if best == math.inf:
            break
        if inside:
            if best >= entry + scene.rule_dwell_s[rule]:
                count = _add_event(
                    events, count, rule, entry + scene.rule_dwell_s[rule], best, entry, entry_x, entry_y, entry_nx, entry_ny
                )
        else:
            entry, entry_x, entry_y, entry_nx, entry_ny = best, bx, by, bnx, bny
        inside = not inside
        now = best
    if inside and track.end_s >= entry + scene.rule_dwell_s[rule]:
        count = _add_event(
            events, count, rule, entry + scene.rule_dwell_s[rule], track.end_s, entry, entry_x, entry_y, entry_nx, entry_ny
        )
    return count


@compiled_inline
def find_events(scene, track, events):
    """All armed windows of a crossing over all rules, into `events`; returns how many."""
    count = 0
    for rule in range(scene.rule_kind.size):
        if scene.rule_kind[rule] == LINE_RULE:
            count = _line_events(scene, track, rule, events, count)
        else:
            count = _field_events(scene, track, rule, events, count)
    return count


@compiled_inline
def arm_looks(plan, track, phase, event_count, work):
    """Lay the armed windows over the looks: per camera, by the rules it serves, armed and needed looks, alarm time, depth, delay.

    Looks come at t_k = (phase + k) / rate. Alarm time = max(look, t_c); where windows overlap the earliest counts. A look is
    needed when it, or one of the n-1 after it, is armed; work.watched says so of any rule, whatever it hears.
    Returns (first look, last look) as true look numbers, -1 when nothing is armed; arrays are indexed from the first.
    """
    decision, scene = plan.decision, plan.scene
    rate = decision.looks_per_s
    cameras = plan.cameras.bearing_rad.size
    capacity = work.alarm_time.shape[1]
    earliest, latest = np.int64(1 << 60), np.int64(-1)
    last_of_path = np.int64(math.floor(track.end_s * rate - phase))
    for e in range(event_count):
        k0 = max(np.int64(math.ceil(work.events[e, FROM_S] * rate - phase)), np.int64(0))
        k1 = min(np.int64(math.floor(work.events[e, TO_S] * rate - phase)), last_of_path)
        if k0 <= k1:
            earliest = min(earliest, k0)
            latest = max(latest, k1)
    if latest < 0:
        return np.int64(-1), np.int64(-1)
    history = decision.confirm_n - 1
    first = max(earliest - history, np.int64(0))
    last = min(latest, first + capacity - 1)
    for i in range(last - first + 1):
        work.watched[i] = 0
        for camera in range(cameras):
            work.alarm_time[camera, i] = math.inf
            work.armed[camera, i] = 0
            work.needed[camera, i] = 0
    for e in range(event_count):
        row = work.events[e]
        rule = int(row[RULE])
        k0 = max(np.int64(math.ceil(row[FROM_S] * rate - phase)), np.int64(0))
        k1 = min(np.int64(math.floor(row[TO_S] * rate - phase)), last)
        for k in range(k0, k1 + 1):
            i = k - first
            alarm = max((phase + k) / rate, row[CROSSED_S])
            there = place_at(track, alarm)
            depth = max((there.x - row[AT_X]) * row[NORMAL_X] + (there.y - row[AT_Y]) * row[NORMAL_Y], 0.0)
            for back in range(max(i - history, 0), i + 1):
                work.watched[back] = 1
            for camera in range(cameras):
                if scene.rule_camera[rule, camera]:
                    if alarm < work.alarm_time[camera, i]:
                        work.alarm_time[camera, i] = alarm
                        work.depth[camera, i] = depth
                        work.delay[camera, i] = max(alarm - row[CROSSED_S], 0.0)
                    work.armed[camera, i] = 1
                    for back in range(max(i - history, 0), i + 1):
                        work.needed[camera, back] = 1
    return first, last
