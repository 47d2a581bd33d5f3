"""The fence as a band on a plan: mitred outside the true line, cut into the stretches that a picture colours."""

from __future__ import annotations

from collections.abc import Callable, Sequence

import numpy as np

from fencecast.estimate.places import Section
from fencecast.site import Site
from fencecast.site.geometry import vertices

GAP_MM = 0.7  # between the true line and the band
WIDTH_MM = 2.0
LONGEST_MITRE = 2.5  # times the offset: at sharper corners the tip is cut


class Band:
    """Bands of all sections on one plan. Everything returned is in page millimetres."""

    def __init__(self, site: Site, sections: Sequence[Section], to_page: Callable[[float, float], np.ndarray]):
        perimeters = {p.name: p for p in site.perimeter}
        self.sections = sections
        self.lines, self.chainages, self.outward = [], [], []
        for section in sections:
            perimeter = perimeters[section.name]
            points = vertices(perimeter)
            edges = np.diff(points, axis=0)
            self.chainages.append(np.concatenate([[0.0], np.cumsum(np.hypot(edges[:, 0], edges[:, 1]))]))
            self.lines.append(np.array([to_page(x, y) for x, y in points]))
            self.outward.append(_outward(self.lines[-1], perimeter.inside))
        self.mitres = [self._mitres(k) for k in range(len(sections))]

    def _mitres(self, k: int) -> np.ndarray:
        normals = self.outward[k]
        before = next((self.outward[j][-1] for j, s in enumerate(self.sections) if s.following == k), None)
        following = self.sections[k].following
        after = None if following is None else self.outward[following][0]
        left = [before if before is not None else normals[0], *normals]
        right = [*normals, after if after is not None else normals[-1]]
        mitres = []
        for a, b in zip(left, right):
            reach = 1.0 + float(a @ b)
            mitre = (a + b) / reach if reach > 0.05 else b
            length = float(np.hypot(*mitre))
            mitres.append(mitre * min(1.0, LONGEST_MITRE / length))
        return np.array(mitres)

    def point(self, k: int, chainage_m: float, outward_mm: float) -> np.ndarray:
        """The point of section k at a chainage, pushed outwards (negative: inwards)."""
        edge, share = self._edge(k, chainage_m)
        return self._offset(k, edge, share, outward_mm)

    def normal(self, k: int, chainage_m: float) -> np.ndarray:
        """Outward unit normal of the edge at a chainage."""
        return self.outward[k][self._edge(k, chainage_m)[0]]

    def _edge(self, k: int, chainage_m: float) -> tuple[int, float]:
        bounds = self.chainages[k]
        edge = int(np.clip(np.searchsorted(bounds, chainage_m, side="right") - 1, 0, len(bounds) - 2))
        return edge, float(np.clip((chainage_m - bounds[edge]) / (bounds[edge + 1] - bounds[edge]), 0.0, 1.0))

    def quads(
        self, k: int, start_m: float, end_m: float, inner_mm: float = GAP_MM, outer_mm: float = GAP_MM + WIDTH_MM
    ) -> list[np.ndarray]:
        """The stretch between two chainages as convex quads, one for each straight edge."""
        bounds = self.chainages[k]
        quads = []
        for edge in range(len(bounds) - 1):
            low, high = max(start_m, bounds[edge]), min(end_m, bounds[edge + 1])
            if high - low <= 1e-9:
                continue
            shares = [(chainage - bounds[edge]) / (bounds[edge + 1] - bounds[edge]) for chainage in (low, high)]
            corners = [self._offset(k, edge, share, inner_mm) for share in shares]
            corners += [self._offset(k, edge, share, outer_mm) for share in shares[::-1]]
            quads.append(np.array(corners))
        return quads

    def _offset(self, k: int, edge: int, share: float, outward_mm: float) -> np.ndarray:
        """A point of an edge pushed square to it; at the corners along the mitre, and never past a mitre that leans in."""
        a, b = self.lines[k][edge], self.lines[k][edge + 1]
        length = float(np.hypot(*(b - a)))
        along, normal = (b - a) / length, self.outward[k][edge]
        first, last = (outward_mm * float(self.mitres[k][i] @ along) for i in (edge, edge + 1))
        last += length
        if share <= 0.0:
            at = first
        elif share >= 1.0:
            at = last
        else:
            at = min(max(share * length, first if first > 0.0 else -np.inf), last if last < length else np.inf)
        return a + at * along + outward_mm * normal

    def path(self, k: int, start_m: float, end_m: float, offset_mm: float = 0.0) -> np.ndarray:
        """The line between two chainages, pushed outwards, with its bends (n, 2)."""
        inner = [c for c in self.chainages[k][1:-1] if start_m < c < end_m]
        return np.array([self.point(k, c, offset_mm) for c in (start_m, *inner, end_m)])

    def length_mm(self, k: int, start_m: float, end_m: float) -> float:
        """Length of a stretch on paper."""
        line = self.path(k, start_m, end_m)
        return float(np.sum(np.hypot(*np.diff(line, axis=0).T)))


def _outward(line: np.ndarray, inside: str) -> np.ndarray:
    """Outward unit normals of the edges on a page whose y runs downwards."""
    along = np.diff(line, axis=0)
    along /= np.hypot(along[:, 0], along[:, 1])[:, None]
    left_of_travel = np.stack([along[:, 1], -along[:, 0]], axis=1)  # y is turned over on the page
    return -left_of_travel if inside == "left" else left_of_travel
