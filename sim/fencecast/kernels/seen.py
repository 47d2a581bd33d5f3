"""Where a body seems to stand: the ground point under its feet in a camera's picture, and the lines that it seems to cross.

The analytics know a picture, not the scene: they take the body's lowest point for feet on the ground. A body above the ground
seems to stand farther out, h / (h - b) times as far for a base b under a camera h high, and an error of a pixel moves the point.
So each camera has crossings of its own. On the ground and without an error they are those of the person's loop.
"""

import math

from fencecast.jit import compiled_inline
from fencecast.kernels.arming import FROM_S, MAX_EVENTS, RULE, TO_S
from fencecast.kernels.look import image_of
from fencecast.kernels.sight import crossing_parameter, within_outline
from fencecast.kernels.types import LINE_RULE
from fencecast.kernels.ways import place_on_way
from fencecast.physics.optics import RECTILINEAR

# Looks this far apart [m] are asked first whether anything is crossed between them: a straight way is straight on the ground of a
# rectilinear picture too, so nothing is missed; a way bent by another lens is straight enough over this length.
_STRIDE_M = 2.0
_MOST_STRIDE = 32
_LEAST_FALL = 1.0e-9  # of a unit ray: what falls less than this never meets the ground


@compiled_inline
def seen_ground(pose, optics, x, y, base_m, error_u, error_v):
    """Ground point (x, y) [m] under the picture of a point at height base_m, and whether there is one.

    error_u, error_v [px] move the picture. There is none as high as the camera or at and above the horizon. Where the lens maps
    nothing (beside and behind a rectilinear camera) the point is not in the picture, and stays where it is without the error.
    """
    height = pose.position[2]
    if base_m >= height:
        return 0.0, 0.0, False
    if error_u != 0.0 or error_v != 0.0:
        u, v, mapped = image_of(pose, optics, x, y, base_m)
        if mapped:
            u += error_u
            v += error_v
            ahead = optics.focal_px
            if optics.projection != RECTILINEAR:
                radius = max(math.sqrt(u * u + v * v), 1.0e-12)
                angle = radius / optics.focal_px
                scale = math.sin(angle) / radius
                u, v, ahead = u * scale, v * scale, math.cos(angle)
            length = math.sqrt(u * u + v * v + ahead * ahead)
            fall = -(u * pose.right[2] + v * pose.down[2] + ahead * pose.forward[2])
            if fall <= _LEAST_FALL * length:
                return 0.0, 0.0, False
            reach = height / fall
            return (
                pose.position[0] + reach * (u * pose.right[0] + v * pose.down[0] + ahead * pose.forward[0]),
                pose.position[1] + reach * (u * pose.right[1] + v * pose.down[1] + ahead * pose.forward[1]),
                True,
            )
    stretch = height / (height - base_m)
    return pose.position[0] + (x - pose.position[0]) * stretch, pose.position[1] + (y - pose.position[1]) * stretch, True


@compiled_inline
def may_be_in_frame(pose, optics, way, margin_m):
    """Whether any of a way may come into a camera's frame: False only when all of it is beyond one side of a rectilinear one.

    margin_m: how far a body reaches from its foot point [m].
    """
    if optics.projection != RECTILINEAR:
        return True
    ahead_0, ahead_1, side_0, side_1 = 0.0, 0.0, 0.0, 0.0
    for end in range(2):
        along = -way.before_m if end == 0 else way.after_m
        dx = way.x + along * way.heading_x - pose.position[0]
        dy = way.y + along * way.heading_y - pose.position[1]
        dz = way.base_m - pose.position[2]
        ahead = pose.forward[0] * dx + pose.forward[1] * dy + pose.forward[2] * dz
        side = pose.right[0] * dx + pose.right[1] * dy + pose.right[2] * dz
        if end == 0:
            ahead_0, side_0 = ahead, side
        else:
            ahead_1, side_1 = ahead, side
    if max(ahead_0, ahead_1) < -margin_m:
        return False
    half = 0.5 * optics.columns / optics.focal_px
    room = margin_m * math.sqrt(1.0 + half * half)
    return (
        min(side_0 - half * ahead_0, side_1 - half * ahead_1) <= room
        and min(-side_0 - half * ahead_0, -side_1 - half * ahead_1) <= room
    )


@compiled_inline
def _keep_window(events, count, rule, from_s, to_s):
    """Append one armed window; the table is larger than any straight way crosses lines, later ones are dropped."""
    if count < MAX_EVENTS:
        events[count, RULE], events[count, FROM_S], events[count, TO_S] = rule, from_s, to_s
        count += 1
    return count


@compiled_inline
def _meets_an_edge(scene, camera, ax, ay, bx, by):
    """Whether the step from a to b meets an edge of a rule that the camera serves, ends included."""
    for rule in range(scene.rule_kind.size):
        if scene.rule_camera[rule, camera]:
            for k in range(scene.rule_first[rule], scene.rule_first[rule + 1]):
                s, t = crossing_parameter(ax, ay, bx, by, scene.rule_edge[k])
                if 0.0 <= s <= 1.0 and 0.0 <= t <= 1.0:
                    return True
    return False


@compiled_inline
def _begin_stays(scene, camera, x, y, time_s, entered):
    """A body appears at (x, y): in the areas that it stands in it stays from time_s on. entered (rules,): time, NaN outside."""
    for rule in range(scene.rule_kind.size):
        entered[rule] = math.nan
        area = scene.rule_camera[rule, camera] and scene.rule_kind[rule] != LINE_RULE
        if area and within_outline(scene.rule_edge, scene.rule_first[rule], scene.rule_first[rule + 1], x, y):
            entered[rule] = time_s


@compiled_inline
def _end_stays(scene, time_s, entered, events, count):
    """Every stay ends at time_s: armed from when its dwell was over."""
    for rule in range(scene.rule_kind.size):
        begin = entered[rule] + scene.rule_dwell_s[rule]
        if begin <= time_s:  # never when it was not inside: NaN
            count = _keep_window(events, count, rule, begin, time_s)
        entered[rule] = math.nan
    return count


@compiled_inline
def _step(scene, camera, ax, ay, bx, by, from_s, to_s, entered, events, count):
    """One step of the seen foot point between two looks: lines crossed in their sense, areas entered and left."""
    for rule in range(scene.rule_kind.size):
        if not scene.rule_camera[rule, camera]:
            continue
        first, last = math.inf, -math.inf
        for k in range(scene.rule_first[rule], scene.rule_first[rule + 1]):
            edge = scene.rule_edge[k]
            s, t = crossing_parameter(ax, ay, bx, by, edge)
            if not (0.0 <= s < 1.0 and 0.0 <= t < 1.0):
                continue
            first, last = min(first, s), max(last, s)
            if scene.rule_kind[rule] == LINE_RULE:
                left = (by - ay) * (edge[2] - edge[0]) - (bx - ax) * (edge[3] - edge[1])
                sense = 1 if left > 0.0 else -1
                if scene.rule_direction[rule] == 0 or scene.rule_direction[rule] == sense:
                    time, window = from_s + s * (to_s - from_s), scene.rule_time_window_s[rule]
                    count = _keep_window(events, count, rule, time - window, time + window)
        if scene.rule_kind[rule] == LINE_RULE or first == math.inf:
            continue
        inside = within_outline(scene.rule_edge, scene.rule_first[rule], scene.rule_first[rule + 1], bx, by)
        if inside and math.isnan(entered[rule]):
            entered[rule] = from_s + last * (to_s - from_s)
        elif not inside and not math.isnan(entered[rule]):
            begin, left_s = entered[rule] + scene.rule_dwell_s[rule], from_s + first * (to_s - from_s)
            if begin <= left_s:
                count = _keep_window(events, count, rule, begin, left_s)
            entered[rule] = math.nan
    return count


@compiled_inline
def find_seen_events(scene, camera, pose, optics, way, phase, looks_per_s, last, error_u, error_v, entered, events):
    """All armed windows of one camera on a way, by what it sees at its looks 0 .. last, into `events`; returns how many.

    error_u, error_v [px]: of the foot point, the same on all of the way. entered (rules,) is scratch.
    """
    stride = int(min(max(_STRIDE_M * looks_per_s / way.speed_m_s, 1.0), _MOST_STRIDE))
    x, y, seen, time_s = 0.0, 0.0, False, 0.0
    count, look, until, step = 0, 0, 0, 0
    for rule in range(scene.rule_kind.size):
        entered[rule] = math.nan
    while look + step <= last:
        next_s = (phase + look + step) / looks_per_s
        here = place_on_way(way, next_s, 0)
        next_x, next_y, next_seen = seen_ground(pose, optics, here.x, here.y, way.base_m, error_u, error_v)
        changed = seen != next_seen
        if step > 0 and (changed or (seen and _meets_an_edge(scene, camera, x, y, next_x, next_y))):
            if step > 1:  # look closer
                until, step = look + step, 1
                continue
            if not changed:
                count = _step(scene, camera, x, y, next_x, next_y, time_s, next_s, entered, events, count)
        if next_seen and (changed or step == 0):
            _begin_stays(scene, camera, next_x, next_y, next_s if step > 0 else 0.0, entered)
        elif changed:
            count = _end_stays(scene, time_s, entered, events, count)
        look += step
        x, y, seen, time_s = next_x, next_y, next_seen, next_s
        step = 1 if look < until else max(min(stride, last - look), 1)
    return _end_stays(scene, way.end_s, entered, events, count) if seen else count


@compiled_inline
def arm_seen_looks(events, count, phase, looks_per_s, confirm_n, last_of_way, armed, needed, bucket_of):
    """Lay one camera's armed windows over its looks: (first look, looks), 0 looks when nothing is armed.

    armed, needed, bucket_of (looks,): filled from the first look on; a look is needed when it, or one of the confirm_n - 1 after
    it, is armed. All alarms share one bucket: when a stimulus raises it does not matter.
    """
    earliest, latest = last_of_way + 1, -1
    for e in range(count):
        k0 = max(int(math.ceil(events[e, FROM_S] * looks_per_s - phase)), 0)
        k1 = min(int(math.floor(events[e, TO_S] * looks_per_s - phase)), last_of_way)
        if k0 <= k1:
            earliest, latest = min(earliest, k0), max(latest, k1)
    if latest < 0:
        return 0, 0
    history = confirm_n - 1
    first = max(earliest - history, 0)
    looks = min(latest - first + 1, armed.size)
    for i in range(looks):
        armed[i], needed[i], bucket_of[i] = 0, 0, 0
    for e in range(count):
        k0 = max(int(math.ceil(events[e, FROM_S] * looks_per_s - phase)), 0)
        k1 = min(int(math.floor(events[e, TO_S] * looks_per_s - phase)), first + looks - 1)
        for k in range(k0, k1 + 1):
            armed[k - first] = 1
            for back in range(max(k - first - history, 0), k - first + 1):
                needed[back] = 1
    return first, looks
