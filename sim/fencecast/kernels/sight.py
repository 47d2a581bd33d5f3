"""What stands between a camera and a body, and what stands behind it.

Segments run in plan from the camera (s = 0) to the target (s = 1); heights are straight lines along them. All loops are over
the site's few edges, with a circle test before each obstacle; nothing is gridded, so positions are exact.
"""

import math

from fencecast.jit import compiled, compiled_inline
from fencecast.kernels.types import NO_BARRIER, SEE_THROUGH, WALL

# A body nearer to a fence line than this [m] is on it: its own fence does not act on it. A camera nearer to a face or a fence
# than this is mounted on it and looks out from it: without a margin the last bit of its coordinates would decide whether it is
# blind.
ON_LINE_M = 1.0e-6
# Columns of a strip of a body behind fences.
STRIP_FROM, STRIP_TO, STRIP_PASSED = range(3)
# A way through the corner where two faces end meets both, whatever the last bit says.
_END_SHARE = 1.0e-9


@compiled_inline
def crossing_parameter(ax, ay, bx, by, edge):
    """Where the segment a-b crosses an edge: (s along a-b, t along the edge), both NaN when they are parallel."""
    ex, ey = edge[2] - edge[0], edge[3] - edge[1]
    dx, dy = bx - ax, by - ay
    determinant = dx * ey - dy * ex
    if determinant == 0.0:
        return math.nan, math.nan
    rx, ry = edge[0] - ax, edge[1] - ay
    return (rx * ey - ry * ex) / determinant, (rx * dy - ry * dx) / determinant


@compiled_inline
def near_segment(ax, ay, bx, by, circle):
    """Whether the segment a-b comes within the circle (centre x, y, radius)."""
    dx, dy = bx - ax, by - ay
    rx, ry = circle[0] - ax, circle[1] - ay
    length2 = dx * dx + dy * dy
    along = min(max((rx * dx + ry * dy) / length2, 0.0), 1.0) if length2 > 0.0 else 0.0
    gx, gy = rx - along * dx, ry - along * dy
    return gx * gx + gy * gy <= circle[2] * circle[2]


@compiled_inline
def shadow_height_m(scene, camera_x, camera_y, camera_h, x, y):
    """Height [m] at the ground point (x, y) below which everything is hidden from the camera; 0 when nothing hides.

    Obstacles are prisms on the ground, walls are upright sheets. The sight line over an edge of height H met at s has height
    h + (H - h) / s above the target: each edge met is tried, the highest counts (the near face of a prism taller than the
    camera, the far face of a lower one). A face that the target stands at hides it from behind only, when the sight line comes
    through the prism. A wall does not act on a body that stands on it.
    """
    highest = 0.0
    distance = math.sqrt((x - camera_x) ** 2 + (y - camera_y) ** 2)
    for obstacle in range(scene.obstacle_height_m.size):
        if not near_segment(camera_x, camera_y, x, y, scene.obstacle_circle[obstacle]):
            continue
        roof = scene.obstacle_height_m[obstacle]
        rise = roof - camera_h
        met, at_face = 0, False
        for k in range(scene.obstacle_first[obstacle], scene.obstacle_first[obstacle + 1]):
            s, t = crossing_parameter(camera_x, camera_y, x, y, scene.obstacle_edge[k])
            if s * distance > ON_LINE_M and 0.0 <= t <= 1.0:
                if (1.0 - s) * distance > ON_LINE_M:
                    met += 1
                    highest = max(highest, camera_h + rise / s)
                elif (s - 1.0) * distance <= ON_LINE_M:
                    at_face = True
        if at_face and met % 2 == 1:
            highest = max(highest, roof)
    for k in range(scene.edge_barrier.size):
        if scene.edge_barrier[k] == WALL:
            s, t = crossing_parameter(camera_x, camera_y, x, y, scene.edge[k])
            if s * distance > ON_LINE_M and (1.0 - s) * distance > ON_LINE_M and 0.0 <= t <= 1.0:
                highest = max(highest, camera_h + (scene.edge_height_m[k] - camera_h) / s)
    return highest


@compiled_inline
def fence_between(scene, k, camera_x, camera_y, x, y, distance):
    """Where on the way from the camera (0) to (x, y) (1) the see-through barrier k stands; 0 when it does not stand between."""
    if scene.edge_barrier[k] != SEE_THROUGH:
        return 0.0
    s, t = crossing_parameter(camera_x, camera_y, x, y, scene.edge[k])
    return s if s * distance > ON_LINE_M and (1.0 - s) * distance > ON_LINE_M and 0.0 <= t < 1.0 else 0.0


@compiled_inline
def fill_barrier_factors(scene, camera_x, camera_y, camera_h, x, y, height_m, factor):
    """Share of contrast that see-through barriers pass at some heights over (x, y), into factor, as long as height_m.

    1 - (1 - open) / cos(alpha), not below 0, alpha between sight line and fence normal in plan; it acts where the ray passes
    below the barrier's top, never on a body that is on the fence line itself; several multiply.
    """
    for m in range(factor.size):
        factor[m] = 1.0
    dx, dy = x - camera_x, y - camera_y
    distance = math.sqrt(dx * dx + dy * dy)
    for k in range(scene.edge_barrier.size):
        s = fence_between(scene, k, camera_x, camera_y, x, y, distance)
        if s <= 0.0:
            continue
        cosine = abs(dx * scene.edge_normal[k, 0] + dy * scene.edge_normal[k, 1]) / distance
        passed = max(1.0 - (1.0 - scene.edge_open[k]) / max(cosine, 1e-9), 0.0)
        for m in range(factor.size):
            if camera_h + (height_m[m] - camera_h) * s < scene.edge_height_m[k]:
                factor[m] *= passed


@compiled_inline
def fill_fence_tops(scene, camera_x, camera_y, camera_h, x, y, low_m, high_m, tops):
    """Heights over (x, y) at which tops of see-through barriers show, rising, into tops: those between low_m and high_m.

    Returns how many there are, -1 when no barrier hides anything above low_m. Of more than `tops` holds the rest is left out:
    there a strip is judged by its middle.
    """
    count, acts = 0, False
    distance = math.sqrt((x - camera_x) ** 2 + (y - camera_y) ** 2)
    for k in range(scene.edge_barrier.size):
        s = fence_between(scene, k, camera_x, camera_y, x, y, distance)
        if s <= 0.0:
            continue
        top = camera_h + (scene.edge_height_m[k] - camera_h) / s
        if top <= low_m:
            continue
        acts = True
        if top < high_m and count < tops.size:
            at = count
            while at > 0 and tops[at - 1] > top:
                tops[at] = tops[at - 1]
                at -= 1
            tops[at] = top
            count += 1
    return count if acts else -1


@compiled_inline
def cut_at_fences(scene, camera_x, camera_y, camera_h, x, y, base, height, v_feet, v_head, work):
    """Strips of a body that fences pass differently, from its feet up, into work.strips; how many, 0 without a fence before it.

    base, height: its feet and its size [m]; v_feet, v_head: rows of its rectangle in the picture. A body is cut where the top
    of a fence shows: a strip (STRIP_FROM, STRIP_TO, STRIP_PASSED) has rows from and to, and the share of contrast that passes.
    """
    heights, passed, strips = work.strip_height, work.strip_passed, work.strips
    tops = fill_fence_tops(scene, camera_x, camera_y, camera_h, x, y, base, base + height, work.fence_top)
    if tops < 0:
        return 0
    low = 0.0
    for m in range(tops + 1):
        high = (work.fence_top[m] - base) / height if m < tops else 1.0
        heights[m] = base + 0.5 * (low + high) * height
        v_low, v_high = v_feet + low * (v_head - v_feet), v_feet + high * (v_head - v_feet)
        strips[m, STRIP_FROM], strips[m, STRIP_TO] = min(v_low, v_high), max(v_low, v_high)
        low = high
    fill_barrier_factors(scene, camera_x, camera_y, camera_h, x, y, heights, passed)
    for m in range(tops + 1):
        strips[m, STRIP_PASSED] = passed[m]
    return tops + 1


@compiled
def ground_behind(camera_h, height_m):
    """How many times as far from the camera as a point at height_m the ray through it meets the ground: h / (h - z).

    inf when the ray does not descend: the point is as high as the camera.
    """
    if height_m >= camera_h:
        return math.inf
    return camera_h / (camera_h - height_m)


@compiled_inline
def obstacle_near_ray(scene, camera_x, camera_y, x, y, stretch):
    """Whether any obstacle may stand behind (x, y), up to `stretch` times as far from the camera.

    Mostly none does, so this is asked once for all parts of a body. stretch >= 1: h / (h - z) of the highest point whose
    background is asked for. False only where `obstacle_behind` is False.
    """
    dx, dy = x - camera_x, y - camera_y
    end_x, end_y = camera_x + dx * stretch, camera_y + dy * stretch
    for obstacle in range(scene.obstacle_height_m.size):
        if near_segment(x, y, end_x, end_y, scene.obstacle_circle[obstacle]):
            return True
    return False


@compiled_inline
def obstacle_behind(scene, camera_x, camera_y, camera_h, x, y, height_m):
    """Whether the ray through a point at `height_m` over (x, y) meets an obstacle behind it before it reaches the ground.

    Roofs included; barriers are not obstacles. Along the ray z(s) = h + (z - h) s for s > 1, down to the ground at
    s = h / (h - z); a ray that does not descend is followed for 2 km. It meets a prism when it passes a face below the roof, or
    ends on the ground inside the footprint, or starts over the footprint below the roof (courtyards and notches are open).
    """
    fall = camera_h - height_m
    dx, dy = x - camera_x, y - camera_y
    distance = math.sqrt(dx * dx + dy * dy)
    if distance <= 0.0:
        return False
    s_end = min(2000.0 / distance + 1.0, ground_behind(camera_h, height_m))
    end_x, end_y = camera_x + dx * s_end, camera_y + dy * s_end
    for obstacle in range(scene.obstacle_height_m.size):
        if not near_segment(x, y, end_x, end_y, scene.obstacle_circle[obstacle]):
            continue
        roof = scene.obstacle_height_m[obstacle]
        ahead, beyond_end = 0, 0
        for k in range(scene.obstacle_first[obstacle], scene.obstacle_first[obstacle + 1]):
            s, t = crossing_parameter(camera_x, camera_y, x, y, scene.obstacle_edge[k])
            if (s - 1.0) * distance > ON_LINE_M and 0.0 <= t < 1.0:
                ahead += 1
                if s > s_end:
                    beyond_end += 1
                elif camera_h - fall * s <= roof:
                    return True
        if beyond_end % 2 == 1 or (ahead % 2 == 1 and height_m <= roof):
            return True
    return False


@compiled
def within_outline(edges, first, last, x, y):
    """Whether a point is inside the closed outline edges[first:last], not on it (even-odd; within ON_LINE_M of an edge is on)."""
    inside = False
    for k in range(first, last):
        ax, ay, bx, by = edges[k, 0], edges[k, 1], edges[k, 2], edges[k, 3]
        dx, dy = bx - ax, by - ay
        share = min(max(((x - ax) * dx + (y - ay) * dy) / (dx * dx + dy * dy), 0.0), 1.0)
        if math.hypot(x - ax - share * dx, y - ay - share * dy) <= ON_LINE_M:
            return False
        if (ay > y) != (by > y) and x < ax + (y - ay) * dx / dy:
            inside = not inside
    return inside


@compiled_inline
def first_obstacle_m(scene, x, y, direction_x, direction_y, reach_m):
    """Distance [m] from (x, y) along a unit direction to where the way enters the inside of an obstacle, at most reach_m.

    0 when it starts inside or leads from a face into it. A way along a face or through a corner point enters nothing: each
    stretch between two meetings with the outline is asked by its middle.
    """
    nearest = reach_m
    end_x, end_y = x + direction_x * reach_m, y + direction_y * reach_m
    for obstacle in range(scene.obstacle_height_m.size):
        if not near_segment(x, y, end_x, end_y, scene.obstacle_circle[obstacle]):
            continue
        first, last = scene.obstacle_first[obstacle], scene.obstacle_first[obstacle + 1]
        here = 0.0
        while here < nearest:
            following = math.inf
            for k in range(first, last):
                s, t = crossing_parameter(x, y, end_x, end_y, scene.obstacle_edge[k])
                if s * reach_m > here + ON_LINE_M and -_END_SHARE <= t <= 1.0 + _END_SHARE:
                    following = min(following, s * reach_m)
            if following == math.inf:
                break
            middle = 0.5 * (here + following)
            if within_outline(scene.obstacle_edge, first, last, x + direction_x * middle, y + direction_y * middle):
                nearest = here
            here = following
    return nearest


@compiled_inline
def first_barrier_m(scene, x, y, direction_x, direction_y, reach_m):
    """Distance [m] along a unit direction to the first barrier other than the one (x, y) stands on, at most reach_m."""
    nearest = reach_m
    end_x, end_y = x + direction_x * reach_m, y + direction_y * reach_m
    for k in range(scene.edge_barrier.size):
        if scene.edge_barrier[k] == NO_BARRIER:
            continue
        s, t = crossing_parameter(x, y, end_x, end_y, scene.edge[k])
        if s * reach_m > ON_LINE_M and 0.0 <= t <= 1.0:
            nearest = min(nearest, s * reach_m)
    return nearest
