"""What the plan of an aim sheet draws: the ground round one camera, in the site's metres, grid north up."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
import shapely

from fencecast.camera import camera_geometry
from fencecast.estimate.placecodes import section_letters
from fencecast.lensranges import sheet_ranges
from fencecast.prove.aim import CameraAim
from fencecast.review.optics import eyes_of, hiders_of, shadow_m
from fencecast.show.aim.framedata import watched_line
from fencecast.site import Site
from fencecast.site.geometry import inward_sign, section_length_m, vertices

_STEP_M = 0.5
_ALONE_M = 20.0  # shown ahead of a camera without marks


@dataclass(frozen=True, eq=False)
class PlanSection:
    """A section: corners (n, 2) [m], its letter, whether it has a barrier, its gates (from, to) [m], the side of its inside: +1
    when that is on the left of travel."""

    letter: str
    points: np.ndarray
    length_m: float
    barrier: bool
    gates: tuple[tuple[float, float], ...]
    inside: float


@dataclass(frozen=True, eq=False)
class PlanData:
    """Metres throughout. bounds: x from, to, y from, to of what must be seen; clear: the ground to keep clear (n, 2), None when
    there is none; axis: where the axis meets the ground, None when it does not."""

    mark: str
    x_m: float
    y_m: float
    bearing_rad: float
    bounds: tuple[float, float, float, float]
    sections: tuple[PlanSection, ...]
    buildings: tuple[tuple[str, np.ndarray], ...]
    rules: tuple[np.ndarray, ...]
    clear: np.ndarray | None
    axis: tuple[float, float] | None
    marks: tuple[tuple[int, float, float], ...]


def plan_data(site: Site, aim: CameraAim) -> PlanData:
    """The plan of one camera."""
    camera = next(each for each in site.camera if each.mark == aim.mount.mark)
    geometry = camera_geometry(site, camera)
    rules = [watched_line(site, rule) for rule in site.rule if camera.mark in rule.cameras]
    marks = np.array([[mark.x_m, mark.y_m] for mark in aim.choice.marks]).reshape(-1, 2)
    mast = np.array([[geometry.x_m, geometry.y_m]])
    reach = max((mark.from_mast_m for mark in aim.choice.marks), default=_ALONE_M)
    axis = aim.mount.axis_m if aim.mount.axis_from_m is not None and aim.mount.axis_from_m <= 2.0 * reach else None
    ahead = mast + _ALONE_M * np.array([[math.sin(geometry.bearing_rad), math.cos(geometry.bearing_rad)]])
    shown = np.vstack([mast, marks if len(marks) else ahead, *([] if axis is None else [np.array([axis])])])
    (west, south), (east, north) = shown.min(axis=0), shown.max(axis=0)
    return PlanData(
        camera.mark, geometry.x_m, geometry.y_m, geometry.bearing_rad, (west, east, south, north), plan_sections(site),
        plan_buildings(site), tuple(rules), _clear_ground(site, camera, rules, mast, marks), axis,
        tuple((mark.number, mark.x_m, mark.y_m) for mark in aim.choice.marks),
    )  # fmt: skip


def plan_sections(site: Site) -> tuple[PlanSection, ...]:
    """Every section of a site, in the order of its file."""
    letters = section_letters(site)
    return tuple(
        PlanSection(
            letter,
            vertices(section),
            section_length_m(section),
            section.barrier != "none",
            tuple((gate.from_m, gate.to_m) for gate in section.gates),
            inward_sign(section),
        )
        for letter, section in zip(letters, site.perimeter)
    )


def plan_buildings(site: Site) -> tuple[tuple[str, np.ndarray], ...]:
    """Name and footprint (n, 2) [m] of every obstacle."""
    return tuple((obstacle.name, np.asarray(obstacle.footprint_m, dtype=float)) for obstacle in site.obstacle)


def _clear_ground(site: Site, camera, rules, mast: np.ndarray, marks: np.ndarray) -> np.ndarray | None:
    """Convex hull of mast, marks and the pieces of its rules' lines whose ground is in the camera's view, as far as half of all
    looks at full contrast are classified; None when nothing of them is."""
    eye = next(each for each in eyes_of(site) if each.mark == camera.mark)
    parts = [marks]
    for line in rules:
        for a, b in zip(line[:-1], line[1:]):
            count = max(1, math.ceil(math.dist(a, b) / _STEP_M))
            parts.append(a + np.linspace(0.0, 1.0, count + 1)[:, None] * (b - a))
    points = np.vstack(parts)
    if not len(points):
        return None
    x, y = points.T
    limit = sheet_ranges(site, 1.0 / eye.focal_px)["range_50_m"]
    seen = eye.frames(x, y, 0.0) & (np.hypot(x - eye.x_m, y - eye.y_m) <= limit)
    seen &= shadow_m(eye, hiders_of(site), x, y) <= 0.0
    seen[: len(marks)] = True
    if not seen.any():
        return None
    hull = shapely.MultiPoint(np.vstack([mast, points[seen]])).convex_hull
    return shapely.get_coordinates(hull)[:-1] if hull.geom_type == "Polygon" else None
