"""What stands between a camera and a body, and behind it: obstacles, walls, open barriers."""

import numpy as np

from fencecast.evidence.independent.lines import cross, distance_to_line_m, edge_frames, inside_polygon, ray_hits

ON_LINE_M = 1e-6


def _closed(points):
    return points if np.allclose(points[0], points[-1]) else np.vstack([points, points[:1]])


class Scene:
    """Edges of everything that stands, as arrays."""

    def __init__(self, site):
        self.footprints = [(_closed(points), height) for points, height in site.footprints]
        barred = [section for section in site.sections if section.barrier != "none"]
        walls = [section for section in barred if section.barrier == "wall"]
        self.open_barriers = [section for section in barred if section.barrier != "wall"]
        blind = [(points[:-1], points[1:], height) for points, height in self.footprints]
        blind += [(s.points[:-1], s.points[1:], s.height_m) for s in walls]
        self.hide_from, self.hide_to, self.hide_height = _stack(blind)
        stops = [(s.points[:-1], s.points[1:], s.height_m) for s in barred]
        self.stop_from, self.stop_to, _ = _stack(stops)

    def shadow_height_m(self, camera_xy, camera_height_m, foot):
        """What is lower than this at the foot points (n, 2) is hidden; -inf where nothing stands in between."""
        step = foot - camera_xy
        hit = ray_hits(camera_xy, step, self.hide_from, self.hide_to)
        if hit.shape[1] == 0:
            return np.full(len(foot), -np.inf)
        distance = np.hypot(step[:, 0], step[:, 1])[:, None]
        between = (hit > 1e-9) & ((1.0 - hit) * distance > ON_LINE_M)
        ratio = np.where(between, hit, 1.0)
        reach = camera_height_m + (self.hide_height - camera_height_m) / ratio
        return np.max(np.where(between, reach, -np.inf), axis=1)

    def barrier_pass(self, camera_xy, camera_height_m, foot, part_height_m):
        """Share of the contrast that open barriers pass, for foot points (n, 2) and part heights (n, p): (n, p)."""
        step = foot - camera_xy
        distance = np.hypot(step[:, 0], step[:, 1])
        share = np.ones_like(part_height_m)
        for section in self.open_barriers:
            _, normal, _ = edge_frames(section.points, 1.0)
            hit = ray_hits(camera_xy, step, section.points[:-1], section.points[1:])
            between = (hit > 1e-9) & ((1.0 - hit) * distance[:, None] > ON_LINE_M)
            for n, e in np.argwhere(between):
                slant = abs(step[n] @ normal[e]) / distance[n]
                passed = max(0.0, 1.0 - (1.0 - section.open_share) / slant)
                ray_height = camera_height_m + (part_height_m[n] - camera_height_m) * hit[n, e]
                share[n] *= np.where(ray_height < section.height_m, passed, 1.0)
        return share

    def fence_tops_m(self, camera_xy, camera_height_m, foot):
        """Height over the foot points (n, 2) at which each open barrier's edge shows its top, (n, edges); -inf where it does not
        stand in between."""
        step = foot - camera_xy
        distance = np.hypot(step[:, 0], step[:, 1])[:, None]
        tops = [np.zeros((len(foot), 0))]
        for section in self.open_barriers:
            hit = ray_hits(camera_xy, step, section.points[:-1], section.points[1:])
            between = (hit > 1e-9) & ((1.0 - hit) * distance > ON_LINE_M)
            rise = (section.height_m - camera_height_m) / np.where(between, hit, 1.0)
            tops.append(np.where(between, camera_height_m + rise, -np.inf))
        return np.hstack(tops)

    def backdrop(self, camera_xy, camera_height_m, foot, part_height_m):
        """Whether the ray through a part's middle meets an obstacle behind the target before the ground: (n, p)."""
        step = foot - camera_xy
        meets = np.zeros(part_height_m.shape, bool)
        drop = part_height_m - camera_height_m
        with np.errstate(divide="ignore"):
            ground = np.where(drop < 0.0, -camera_height_m / drop, np.inf)  # in target distances
        for points, height in self.footprints:
            hit = ray_hits(camera_xy, step, points[:-1], points[1:])[:, None, :]
            behind = (hit > 1.0 + 1e-9) & (hit < ground[:, :, None])
            low = camera_height_m + drop[:, :, None] * hit <= height
            meets |= np.any(behind & low, axis=2)
            # The ray comes down through the roof when it would reach the ground inside the footprint.
            beyond = np.sum(hit > ground[:, :, None], axis=2) % 2 == 1
            meets |= beyond & np.isfinite(ground) & (ground > 1.0)
        return meets

    def free_run_m(self, origin, direction):
        """How far a path runs from origin before it enters an obstacle or meets a barrier (the line it stands on apart)."""
        hit = ray_hits(origin, direction[None], self.stop_from, self.stop_to)
        ahead = hit[hit > ON_LINE_M]
        run = float(np.min(ahead)) if len(ahead) else np.inf
        return min([run, *(_enters_m(origin, direction, ring) for ring, _ in self.footprints)])


def _enters_m(origin, direction, ring):
    """Where a ray enters the inside of a ring (k, 2); infinite when it only runs along a face, touches a corner or misses."""
    aside = cross(direction, ring - origin)  # of every corner, from the ray
    aside = np.where(np.abs(aside) < ON_LINE_M, 0.0, aside)
    along = (ring - origin) @ direction
    marks = [0.0, *along[aside == 0.0]]
    for k in np.flatnonzero(aside[:-1] * aside[1:] < 0.0):
        marks.append(along[k] + (along[k + 1] - along[k]) * aside[k] / (aside[k] - aside[k + 1]))
    marks = sorted(mark for mark in marks if mark >= 0.0)
    for low, high in zip(marks[:-1], marks[1:]):
        middle = origin + 0.5 * (low + high) * direction
        if high - low > ON_LINE_M and distance_to_line_m(middle, ring) > ON_LINE_M and inside_polygon(middle, ring):
            return float(low)
    return np.inf


def _stack(pieces):
    if not pieces:
        return np.zeros((0, 2)), np.zeros((0, 2)), np.zeros(0)
    starts, ends, heights = zip(*pieces)
    return np.vstack(starts), np.vstack(ends), np.concatenate([np.full(len(s), h) for s, h in zip(starts, heights)])
