"""A crossing's path: two straight legs that meet at the line, a pause and a climb there; and the rules it meets."""

from dataclasses import dataclass

import numpy as np

from fencecast.evidence.independent.body import box, silhouette, standing_box
from fencecast.evidence.independent.lines import cross, edge_frames, inside_polygon, ray_hits
from fencecast.evidence.independent.look import Pose

AT_LINE_M = 1e-7


def turned(direction, angle_rad):
    c, s = np.cos(angle_rad), np.sin(angle_rad)
    return np.array([c * direction[0] - s * direction[1], s * direction[0] + c * direction[1]])


@dataclass
class Event:
    """One armed stretch: looks within [from_s, to_s] may raise the alarm, at max(look, armed_s).

    origin and normal (in the direction of travel) measure the depth."""

    from_s: float
    to_s: float
    armed_s: float
    origin: np.ndarray
    normal: np.ndarray
    cameras: list


class Path:
    """Where the intruder is at any time from 0 to end_s."""

    def __init__(self, vertex, heading_in, heading_out, run_in_m, run_out_m, speed_m_s, pause_s, climb_s, top_m, person):
        self.vertex, self.heading_in, self.heading_out = vertex, heading_in, heading_out
        self.run_in_m, self.run_out_m, self.speed = run_in_m, run_out_m, speed_m_s
        self.arrive_s = run_in_m / speed_m_s
        self.climb_from_s = self.arrive_s + pause_s
        self.top_s = self.climb_from_s + 0.5 * climb_s
        self.down_s = self.climb_from_s + climb_s
        self.end_s = self.down_s + run_out_m / speed_m_s
        self.climb_s, self.top_m = climb_s, top_m
        self.gait, self.stature_m, self.depth_ratio = person["gait"], person["stature_m"], person["depth_ratio"]

    def time_at(self, along_m):
        """Time at a distance along the plan path measured from the vertex (negative before it)."""
        if abs(along_m) <= AT_LINE_M:
            return self.top_s
        if along_m < 0.0:
            return self.arrive_s + along_m / self.speed
        return self.down_s + along_m / self.speed

    def foot_at(self, time_s):
        """Plan position (n, 2) at times (n,)."""
        before = np.minimum(time_s - self.arrive_s, 0.0) * self.speed
        after = np.maximum(time_s - self.down_s, 0.0) * self.speed
        return self.vertex + before[:, None] * self.heading_in + after[:, None] * self.heading_out

    def pose_at(self, time_s):
        """Pose at times (n,)."""
        going_out = (time_s >= self.top_s)[:, None]
        heading = np.where(going_out, self.heading_out, self.heading_in)
        walking = (time_s < self.arrive_s) | (time_s >= self.down_s)
        climbing = (time_s >= self.climb_from_s) & (time_s < self.down_s)
        rising = climbing & (time_s < self.top_s)
        velocity = np.zeros((len(time_s), 3))
        velocity[:, :2] = np.where(walking[:, None], heading * self.speed, 0.0)
        foot_z = np.zeros(len(time_s))
        if self.climb_s > 0.0:
            rate = 2.0 * self.top_m / self.climb_s
            velocity[:, 2] = np.where(climbing, np.where(rising, rate, -rate), 0.0)
            foot_z = np.where(climbing, self.top_m - rate * np.abs(time_s - self.top_s), 0.0)
        moving = np.array(box(self.gait, self.stature_m, self.depth_ratio))
        boxes = np.where(climbing[:, None], np.array(standing_box(self.stature_m)), moving)
        parts = np.where(climbing[:, None, None], silhouette("walk"), silhouette(self.gait))
        return Pose(self.foot_at(time_s), foot_z, heading, velocity, boxes, parts)


def outgoing_run_m(site, scene, vertex, heading, path_m):
    """Length of the leg after the line: path_m, longer until the last area on it is left, cut where something stands."""
    run = path_m
    for rule in site.rules:
        if rule.kind == "area":
            hit = ray_hits(vertex, heading[None], rule.points[:-1], rule.points[1:])
            ahead = hit[hit > 0.0]
            if len(ahead):
                run = max(run, float(np.max(ahead)) + 1e-6)
    return min(run, scene.free_run_m(vertex, heading))


def line_events(path, rule):
    """Armed crossings of a rule line by the path."""
    unit, normal, length = edge_frames(rule.points, rule.inside)
    before = path.vertex - path.run_in_m * path.heading_in
    after = path.vertex + path.run_out_m * path.heading_out
    events = []
    for k in range(len(length)):
        start = rule.points[k]
        depth = [(point - start) @ normal[k] for point in (before, path.vertex, after)]
        if abs(depth[1]) <= AT_LINE_M:
            # The path bends on the rule line itself.
            crossings = [(0.0, depth[2])] if depth[0] * depth[2] < 0.0 else []
        else:
            crossings = []
            if depth[0] * depth[1] < 0.0:
                crossings.append((-path.run_in_m * depth[1] / (depth[1] - depth[0]), depth[1]))
            if depth[1] * depth[2] < 0.0:
                crossings.append((path.run_out_m * depth[1] / (depth[1] - depth[2]), depth[2]))
        for along, side in crossings:
            # A path that begins on a line, or is cut at a barrier that carries one, only touches it.
            if not -path.run_in_m + AT_LINE_M < along < path.run_out_m - AT_LINE_M:
                continue
            place = path.vertex + along * (path.heading_in if along < 0.0 else path.heading_out)
            if not 0.0 <= (place - start) @ unit[k] < length[k]:
                continue
            inward = side > 0.0
            if rule.direction != "both" and inward != (rule.direction == "inward"):
                continue
            armed = path.time_at(along)
            travel = normal[k] if inward else -normal[k]
            events.append(Event(armed - rule.time_window_s, armed + rule.time_window_s, armed, place, travel, rule.cameras))
    return events


def area_events(path, rule):
    """Stretches of the path inside an area that last at least the dwell time."""
    ring = rule.points
    marks = [-path.run_in_m, 0.0, path.run_out_m]
    edges = {}
    for heading, low, high in ((path.heading_in, -path.run_in_m, 0.0), (path.heading_out, 0.0, path.run_out_m)):
        hits = ray_hits(path.vertex, heading[None], ring[:-1], ring[1:])[0]
        for k in np.flatnonzero((hits > low - AT_LINE_M) & (hits < high + AT_LINE_M)):
            along = 0.0 if abs(hits[k]) <= AT_LINE_M else float(hits[k])
            marks.append(along)
            edges[along] = k
    marks = sorted(set(marks))

    def place(along):
        return path.vertex + along * (path.heading_in if along < 0.0 else path.heading_out)

    _, normal, _ = edge_frames(ring, 1.0 if _area(ring) > 0.0 else -1.0)
    events, entered = [], None
    for low, high in zip(marks[:-1], marks[1:]):
        within = high - low > AT_LINE_M and inside_polygon(place(0.5 * (low + high)), ring)
        if within and entered is None:
            entered = low
        if entered is not None and (not within or high == marks[-1]):
            left = high if within else low
            armed = 0.0 if entered == -path.run_in_m else path.time_at(entered)
            travel = normal[edges[entered]] if entered in edges else path.heading_in
            leaving = path.end_s if left == path.run_out_m else path.time_at(left)
            events.append(Event(armed + rule.dwell_s, leaving, armed, place(entered), travel, rule.cameras))
            entered = None
    return [event for event in events if event.to_s >= event.from_s]


def _area(ring):
    return 0.5 * float(np.sum(cross(ring[:-1], ring[1:])))


def events_of(site, path):
    found = []
    for rule in site.rules:
        found += line_events(path, rule) if rule.kind == "line" else area_events(path, rule)
    return found
