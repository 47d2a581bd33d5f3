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
def fill_barrier_factors(scene, camera_x, camera_y, camera_h, x, y, part_height_m, factor):
    """Share of each body part's contrast that see-through barriers pass, into factor (parts,).

    1 - (1 - open) / cos(alpha), not below 0, alpha between sight line and fence normal in plan; it acts where the part's ray
    (to its middle) passes below the barrier's top, never on a body that is on the fence line itself; several multiply.
    """
    for part in range(factor.size):
        factor[part] = 1.0
    dx, dy = x - camera_x, y - camera_y
    distance = math.sqrt(dx * dx + dy * dy)
    for k in range(scene.edge_barrier.size):
        if scene.edge_barrier[k] != SEE_THROUGH:
            continue
        s, t = crossing_parameter(camera_x, camera_y, x, y, scene.edge[k])
        if not (s * distance > ON_LINE_M and (1.0 - s) * distance > ON_LINE_M and 0.0 <= t < 1.0):
            continue
        cosine = abs(dx * scene.edge_normal[k, 0] + dy * scene.edge_normal[k, 1]) / distance
        passed = max(1.0 - (1.0 - scene.edge_open[k]) / max(cosine, 1e-9), 0.0)
        for part in range(factor.size):
            if camera_h + (part_height_m[part] - camera_h) * s < scene.edge_height_m[k]:
                factor[part] *= passed


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


@compiled_inline
def first_obstacle_m(scene, x, y, direction_x, direction_y, reach_m):
    """Distance [m] from (x, y) along a unit direction to the first obstacle face, at most reach_m; 0 when the way starts in an
    obstacle or leads from its face into it."""
    nearest = reach_m
    end_x, end_y = x + direction_x * reach_m, y + direction_y * reach_m
    for obstacle in range(scene.obstacle_height_m.size):
        ahead = 0
        for k in range(scene.obstacle_first[obstacle], scene.obstacle_first[obstacle + 1]):
            s, t = crossing_parameter(x, y, end_x, end_y, scene.obstacle_edge[k])
            if s * reach_m > ON_LINE_M and 0.0 <= t < 1.0:
                ahead += 1
                nearest = min(nearest, s * reach_m)
        if ahead % 2 == 1:
            return 0.0
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
