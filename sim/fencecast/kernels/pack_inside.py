"""Packing what an intrusion may not meet again on its way in: the edges of its own section and of those that join it."""

from __future__ import annotations

import numpy as np
import shapely

from fencecast.site.geometry import vertices

# An end of one section this near to another one joins it (judgement).
JOINS_WITHIN_M = 0.5
# A path has come in when it is this much deeper than the farthest rule, and at least so deep (judgement).
BEYOND_RULE_M, LEAST_DEPTH_M = 1.0, 3.0


def joined_sections(sections) -> np.ndarray:
    """Which sections hang together, bool (sections, sections): an end within JOINS_WITHIN_M of anywhere on the other, and on."""
    lines = [shapely.LineString(vertices(section)) for section in sections]
    joined = np.eye(len(lines), dtype=bool)
    for i, section in enumerate(sections):
        if section.closed:
            continue
        for end in (shapely.Point(lines[i].coords[0]), shapely.Point(lines[i].coords[-1])):
            for j, other in enumerate(lines):
                if end.distance(other) <= JOINS_WITHIN_M + 1.0e-9:
                    joined[i, j] = joined[j, i] = True
    for k in range(len(lines)):  # what joins a joined one is joined too
        joined |= np.outer(joined[:, k], joined[k])
    return joined


def section_depths_m(site) -> np.ndarray:
    """How deep below its fence a path of each section must get, shape (sections,)."""
    depths = []
    for section in site.perimeter:
        offsets = [rule.offset_m for rule in site.rule if rule.perimeter in (None, section.name)]
        depths.append(max([LEAST_DEPTH_M, *(offset + BEYOND_RULE_M for offset in offsets)]))
    return np.array(depths, dtype=float)


def pack_blocks(sections, edges: np.ndarray, section_edge: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """Per section the edges (x0, y0, x1, y1, number) of all sections joined to it, and the first row of each section."""
    joined = joined_sections(sections)
    rows, first = [], [0]
    for s in range(len(sections)):
        for other in np.flatnonzero(joined[s]):
            numbers = range(section_edge[other], section_edge[other + 1])
            rows += [(*edges[k], k) for k in numbers]
        first.append(len(rows))
    return np.array(rows, dtype=float).reshape(-1, 5), np.array(first, dtype=np.int64)
