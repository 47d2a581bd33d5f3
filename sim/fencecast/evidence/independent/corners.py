"""An intrusion ends inside: which angles of the inner leg are possible near corners, and the drawn angle among them.

Angles in degrees from the inward normal of the edge that the drawn point is on, positive anticlockwise; lengths in metres.
"""

import numpy as np

from fencecast.evidence.independent.lines import distance_to_line_m

LEAST_DEPTH_M = 3.0
PAST_RULE_M = 1.0
JOINED_M = 0.5
SAME_DEPTH_M = 1e-9
OFF_THE_ENDS_M = 1e-9  # at a corner itself the angles are those just beside it


def joined_sections(sections):
    """For each section the list of sections that it is joined with, itself left out. A ring has no ends of its own."""
    count = len(sections)
    group = list(range(count))
    for i, one in enumerate(sections):
        for j, other in enumerate(sections):
            ends = [] if one.closed else [one.points[0], one.points[-1]]
            if i != j and any(distance_to_line_m(end, other.points) <= JOINED_M for end in ends):
                group = [group[i] if number == group[j] else number for number in group]
    return [[sections[j] for j in range(count) if j != i and group[j] == group[i]] for i in range(count)]


class Corners:
    """What restricts the inner legs from one edge of one section: the other edges of it and of those joined with it."""

    def __init__(self, section, edge, joined, depth_m):
        self.start, self.unit, self.normal = section.points[edge], section.unit[edge], section.normal[edge]
        self.length, self.depth_m = section.length[edge], depth_m
        ends = [(section.points[k], section.points[k + 1]) for k in range(len(section.length)) if k != edge]
        for other in joined:
            ends += list(zip(other.points[:-1], other.points[1:]))
        self.ends = ends
        # Anticlockwise of the normal.
        self.aside = np.array([-self.normal[1], self.normal[0]])

    def _seen_from(self, point, end):
        """(to the anticlockwise side, depth) of an end from the drawn point."""
        along = np.clip((point - self.start) @ self.unit, OFF_THE_ENDS_M, self.length - OFF_THE_ENDS_M)
        step = end - (self.start + along * self.unit)
        return step @ self.aside, step @ self.normal

    def possible(self, point):
        """Intervals [(low, high), ...] of possible angles within -90..90, in rising order."""
        barred = []
        for first, second in self.ends:
            (x0, y0), (x1, y1) = self._seen_from(point, first), self._seen_from(point, second)
            if max(y0, y1) <= 0.0 or min(y0, y1) >= self.depth_m - SAME_DEPTH_M:
                continue
            shares = [0.0, 1.0]
            if y0 != y1:
                at = sorted([-y0 / (y1 - y0), (self.depth_m - y0) / (y1 - y0)])
                shares = [max(0.0, at[0]), min(1.0, at[1])]
            if shares[0] < shares[1]:
                angles = [np.degrees(np.arctan2(x0 + s * (x1 - x0), y0 + s * (y1 - y0))) for s in shares]
                barred.append((min(angles), max(angles)))
        free, low = [], -90.0
        for first, last in sorted(barred):
            if first > low:
                free.append((low, first))
            low = max(low, last)
        if low < 90.0:
            free.append((low, 90.0))
        return free

    def bisector(self, point):
        """Angle that halves the corner between this edge and the one that the leg along the normal meets first; None when
        it meets none, or one that runs along this edge."""
        nearest, corner = np.inf, None
        for first, second in self.ends:
            (x0, y0), (x1, y1) = self._seen_from(point, first), self._seen_from(point, second)
            if x0 * x1 > 0.0 or x0 == x1:
                continue
            depth = y0 - x0 * (y1 - y0) / (x1 - x0)
            if 0.0 < depth < nearest:
                nearest, corner = depth, None
                if y0 != y1:
                    corner = x0 - y0 * (x1 - x0) / (y1 - y0)  # where the two lines meet, to the anticlockwise side
        if corner is None:
            return None
        here, there = np.array([-corner, 0.0]), np.array([-corner, nearest])
        half = here / np.hypot(*here) + there / np.hypot(*there)
        return float(np.degrees(np.arctan2(half[0], half[1])))


def inner_angle_deg(draw, share, turn_deg, corners, point):
    """Angle of the inner leg. draw: distribution of the drawn angle; turn_deg: added to it on the inner leg (0 outwards)."""
    drawn = draw.at(share)
    held = []
    for low, high in corners.possible(point):
        below, upto = draw.below(low - turn_deg), draw.upto(high - turn_deg)
        if upto > below:
            held.append((max(low, -high, 0.0), below, upto))  # distance of the interval from 0 first
    if not held:
        halfway = corners.bisector(point)
        return drawn + turn_deg if halfway is None else halfway
    _, below, upto = min(held)
    if below <= 0.0 and upto >= 1.0:
        return drawn + turn_deg
    return draw.at(below + share * (upto - below)) + turn_deg
