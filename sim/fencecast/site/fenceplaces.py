"""Where things stand beside the fence: section, metres along it, metres inside.

Tests: tests/prove/test_mount.py.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from fencecast.site.geometry import corner_chainages_m, inward_sign, section_length_m, vertices
from fencecast.site.whole import Site


@dataclass(frozen=True)
class FencePlace:
    """A ground point as it is measured from the fence: section (index), chainage [m], metres inside (negative outside).

    Before the start or past the end of an open section the chainage goes on: below 0, above the section's length.
    distance_m: to the nearest point of the section itself.
    """

    section: int
    chainage_m: float
    inside_m: float
    distance_m: float


def place_on(site: Site, section: int, x_m: float, y_m: float) -> FencePlace:
    """A point (x, y) [m] measured from one section, square off its nearest edge; the end edges go on straight."""
    perimeter = site.perimeter[section]
    corners, starts = vertices(perimeter), corner_chainages_m(perimeter)
    point = np.array([x_m, y_m], dtype=float)
    edges = np.diff(corners, axis=0)
    lengths = np.hypot(*edges.T)
    along = np.einsum("ij,ij->i", point - corners[:-1], edges) / lengths
    feet = corners[:-1] + (np.clip(along, 0.0, lengths) / lengths)[:, None] * edges
    distances = np.hypot(*(point - feet).T)
    # At a bend two edges are as near: the one whose perpendicular the point stands on, else the first.
    beside = (along >= -1e-9) & (along <= lengths + 1e-9)
    k = int(np.lexsort((~beside, np.round(distances, 9)))[0])
    chainage = starts[k] + float(np.clip(along[k], 0.0, lengths[k]))
    if not perimeter.closed and ((k == 0 and along[k] < 0.0) or (k == len(edges) - 1 and along[k] > lengths[k])):
        chainage = starts[k] + float(along[k])
    ex, ey = edges[k] / lengths[k]
    off = point - corners[k]
    inside = inward_sign(perimeter) * float(off[1] * ex - off[0] * ey)
    if not beside[k] and 0.0 <= chainage <= starts[-1]:  # beyond a corner: the distance to it, on its side
        inside = math.copysign(float(distances[k]), inside)
    return FencePlace(section, float(chainage), float(inside), float(distances[k]))


def nearest_place(site: Site, x_m: float, y_m: float) -> FencePlace:
    """A point measured from the section nearest to it; of sections as near, the one that it stands beside."""
    found = [place_on(site, k, x_m, y_m) for k in range(len(site.perimeter))]
    return min(found, key=lambda p: (round(p.distance_m, 6), not _beside(site, p), p.section))


def _beside(site: Site, place: FencePlace) -> bool:
    return 0.0 <= place.chainage_m <= section_length_m(site.perimeter[place.section])
