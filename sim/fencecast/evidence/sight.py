"""What hides and what stands behind, at a thousand random sight lines, against a plane-geometry library."""

from __future__ import annotations

import numpy as np

from fencecast.evidence import rays, yard
from fencecast.evidence.check import Check, with_version
from fencecast.kernels import sight

LINES = 1000


def occlusion() -> Check:
    """Catches a missed obstacle, near and far faces exchanged, walls that do not hide, a camera blinded by its own roof."""
    scene, shapes, site = yard.town()
    walls = rays.edges(site, "wall")
    worst, hidden = 0.0, 0
    for x, y, height, tx, ty in yard.sight_lines(LINES):
        theirs = rays.hidden_below((x, y), (tx, ty), height, shapes, walls)
        ours = sight.shadow_height_m(scene, x, y, height, tx, ty)
        worst = max(worst, abs(ours - theirs) / max(theirs, 1.0))
        hidden += theirs > 0.0
    return Check(
        "occlusion",
        "Shadow height behind 9 buildings and a wall",
        worst,
        "m, or of it",
        1e-6,
        "rounding where a camera stands close to an edge",
        f"sight lines cut by polygons ({with_version('shapely')})",
        LINES,
        note=f"{hidden} of {LINES} lines meet something",
    )


def backdrop() -> Check:
    """Catches rays that stop at the horizon, roofs forgotten, a courtyard that counts as building, rays below the ground."""
    scene, shapes, _ = yard.town()
    random = np.random.default_rng(45)
    wrong, counted, behind = 0, 0, 0
    for x, y, height, tx, ty in yard.sight_lines(LINES):
        z = height * random.uniform(0.1, 1.1)
        theirs, unclear = rays.backdrop((x, y), (tx, ty), height, z, shapes)
        if unclear:
            continue
        wrong += bool(sight.obstacle_behind(scene, x, y, height, tx, ty, z)) != theirs
        counted += 1
        behind += theirs
    return Check(
        "backdrop",
        "Building or ground behind a body",
        float(wrong if counted > 0.95 * LINES else LINES),
        "wrong answers",
        0.0,
        "yes or no; cases within 1 cm of a roof's edge left out",
        f"sight lines cut by polygons ({with_version('shapely')})",
        counted,
        note=f"{behind} with a building behind",
    )


def fences() -> Check:
    """Catches a cosine for its inverse, a fence that acts above its top, one of several fences forgotten."""
    scene, _, site = yard.town()
    seen_through = rays.edges(site, "mesh") + rays.edges(site, "palisade")
    heights = np.array([0.2, 0.9, 1.5, 2.9])
    worst, less = 0.0, 0
    for x, y, height, tx, ty in yard.sight_lines(LINES):
        theirs = rays.passed_by_fences((x, y), (tx, ty), height, heights, seen_through)
        ours = np.zeros(4)
        sight.fill_barrier_factors(scene, x, y, height, tx, ty, heights, ours)
        worst = max(worst, float(np.abs(ours - theirs).max()))
        less += theirs.min() < 1.0
    return Check(
        "fences",
        "Share of contrast that mesh and palisade pass",
        worst,
        "of 1",
        1e-9,
        "rounding",
        f"crossings and angles in the plane ({with_version('shapely')})",
        4 * LINES,
        note=f"{less} of {LINES} lines pass a fence",
    )


CHECKS = (occlusion, backdrop, fences)
