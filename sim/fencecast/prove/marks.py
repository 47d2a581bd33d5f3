"""Which marks on the ground show how a camera is turned: candidates beside the fence, and the few that tell most.

A mark is a point that tape and fence give, where a bottle of hot water stands (paint is not seen in a thermal picture) and whose
place in the picture is known beforehand. Mark 1 is the candidate nearest to the middle of the picture: the camera is turned to
it. The others are those that together tell bearing, depression, roll and height best when each column and row is read to one
pixel: the greatest determinant of the information matrix J^T J (D-optimal design: Fedorov 1972, from memory), greedy, then
exchanged one by one while that helps.

Metres, degrees, pixels; columns and rows from the upper left corner of the picture, pixel i being [i, i + 1).
Tests: tests/prove/test_marks.py.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

import numpy as np
import shapely

from fencecast.camera import camera_geometry
from fencecast.prove.lookedalong import looked_along
from fencecast.review.optics import Eye, Hiders, eyes_of, hiders_of, shadow_m
from fencecast.site import Site
from fencecast.site.geometry import inward_normal_at, point_at, section_length_m, vertices

COUNT, FEWEST, MOST = 4, 3, 8
INSIDE_M = (0.5, 1.0, 2.0, 3.0, 4.0, 6.0, 8.0)
BOTTLE_M, PERSON_M = 0.3, 1.8
LEAST_BOTTLE_PX, LEAST_PERSON_PX = 3.0, 6.0
# How far inside the frame a mark must be, as a share of the frame's width (judgement); the second only where the first leaves
# too few.
MARGINS = (0.10, 0.07)
FLATTEST = 0.20  # of the frame's height at most: frames may be wide and low
# Marks as near to each other as this are read as one: share of the frame's width (18 of 160 pixels), and metres.
APART_SHARE, APART_M = 18.0 / 160.0, 2.5
FROM_OBSTACLE_M = 0.3
FROM_MAST_M = 1.0
UNKNOWNS = ("bearing_deg", "depression_deg", "roll_deg", "height_m")
_RIDGE = 1.0e-9  # so that one mark alone has a determinant, too
_STEP_RAD, _STEP_M = 1.0e-5, 1.0e-4


@dataclass(frozen=True)
class Mark:
    """One mark: its number on the sheet, its place from the fence and in the site's metres, where its foot must appear.

    tall_px: height of the bottle (or the person) on it in the picture; from_mast_m: ground distance from under the lens.
    """

    number: int
    section: int
    chainage_m: float
    inside_m: float
    x_m: float
    y_m: float
    column: float
    row: float
    tall_px: float
    from_mast_m: float


@dataclass(frozen=True)
class Choice:
    """The marks of one camera. stands_on: "bottle" or "person"; margin: the share of the width that all are inside the frame.

    sd: what a reading good to one pixel tells, one standard deviation, by name of `UNKNOWNS`; empty under three marks.
    reason: why there are none, in `REASONS`; "" otherwise.
    """

    marks: tuple[Mark, ...]
    stands_on: str
    margin: float
    sd: dict[str, float]
    reason: str


REASONS = ("over the horizon", "no fence", "hidden", "too far")


@dataclass(frozen=True, eq=False)
class Candidates:
    """Points beside the fence (n,): section, chainage, metres inside, place (n, 2), place in the picture from its axis [px]."""

    section: np.ndarray
    chainage: np.ndarray
    inside: np.ndarray
    point: np.ndarray
    u: np.ndarray
    v: np.ndarray
    in_picture: np.ndarray
    clear: np.ndarray
    bottle_px: np.ndarray
    person_px: np.ndarray


def choose_marks(site: Site, camera, count: int = COUNT) -> Choice:
    """The marks of one camera of a site, at most `count`.

    Tried in this order until so many are found: along the section that the camera looks along, along all sections; 10 %, then 7 %
    of the width inside the frame; with a bottle, then with a person on the mark, whom a short lens still shows. When none gives
    so many, the first that gives most.
    """
    eye = next(eye for eye in eyes_of(site) if eye.mark == camera.mark)
    along = looked_along(site, camera_geometry(site, camera)).section
    found = candidates(site, eye)
    best: tuple[list[int], str, float] = ([], "bottle", MARGINS[0])
    for stands_on in ("bottle", "person"):
        for margin in MARGINS:
            usable = _usable(eye, found, margin, stands_on)
            for mine in (usable & (found.section == along), usable):
                chosen = _best_of(eye, found, np.flatnonzero(mine), count)
                if len(chosen) > len(best[0]):
                    best = (chosen, stands_on, margin)
                if len(chosen) == count:
                    return _choice(eye, found, *best)
    return _choice(eye, found, *best)


def candidates(site: Site, eye: Eye) -> Candidates:
    """Whole metres along every section at some depths inside, on free ground on the yard's side of every fence."""
    parts = []
    for k, section in enumerate(site.perimeter):
        chainage = np.arange(0.0, section_length_m(section) + 1e-9, 1.0)
        c, d = (each.ravel() for each in np.meshgrid(chainage, np.array(INSIDE_M), indexing="ij"))
        foot = point_at(section, c)
        point = foot + d[:, None] * inward_normal_at(section, c)
        free = _free(site, foot, point)
        parts.append((np.full(len(c), k)[free], c[free], d[free], point[free]))
    section, chainage, inside = (np.concatenate([part[i] for part in parts]) for i in range(3))
    point = np.concatenate([part[3] for part in parts])
    apart = np.hypot(point[:, 0] - eye.x_m, point[:, 1] - eye.y_m) >= FROM_MAST_M
    section, chainage, inside, point = section[apart], chainage[apart], inside[apart], point[apart]
    x, y = point.T
    u, v, mapped = eye.image_of(x, y, 0.0)
    tall = []
    for height in (BOTTLE_M, PERSON_M):
        up, vp, above = eye.image_of(x, y, height)
        tall.append(np.where(mapped & above, np.hypot(up - u, vp - v), 0.0))
    framed = eye.frames(x, y, 0.0)
    # A foot is read through no fence, however open it is.
    clear = shadow_m(eye, _closed(hiders_of(site)), x, y) <= 0.0
    return Candidates(section, chainage, inside, point, u, v, framed, clear, *tall)


def _closed(hiders: Hiders) -> Hiders:
    return Hiders(hiders.prisms, tuple(replace(sheet, open_share=0.0) for sheet in hiders.sheets))


def _free(site: Site, foot: np.ndarray, point: np.ndarray) -> np.ndarray:
    """Which points can be reached from the fence square off inwards: past no obstacle and no other fence, and off both."""
    tapes = shapely.linestrings(np.stack([foot + 1e-3 * (point - foot), point], axis=1))
    places = shapely.points(point)
    good = np.ones(len(point), dtype=bool)
    for obstacle in site.obstacle:
        shape = shapely.Polygon(obstacle.footprint_m)
        good &= (shapely.distance(places, shape) >= FROM_OBSTACLE_M) & ~shapely.intersects(tapes, shape)
    for section in site.perimeter:
        line = shapely.LineString(vertices(section))
        good &= ~shapely.intersects(tapes, line) & (shapely.distance(places, line) >= INSIDE_M[0] - 1e-6)
    return good


def _usable(eye: Eye, found: Candidates, margin: float, stands_on: str) -> np.ndarray:
    """Inside the frame by the margin, nothing before it, and what stands on it tall enough."""
    least, tall = (LEAST_BOTTLE_PX, found.bottle_px) if stands_on == "bottle" else (LEAST_PERSON_PX, found.person_px)
    good = found.in_picture & found.clear & (tall >= least)
    edge = margin * eye.columns
    across, down = 0.5 * eye.columns - edge, 0.5 * eye.rows - min(edge, FLATTEST * eye.rows)
    for height in (0.0, BOTTLE_M) if stands_on == "bottle" else (0.0,):  # of a person the feet are read
        u, v, mapped = eye.image_of(*found.point.T, height)
        good &= mapped & (np.abs(u) <= across) & (np.abs(v) <= down)
    return good


def sensitivities(eye: Eye, point: np.ndarray) -> np.ndarray:
    """Change of column and row of ground points (n, 2) [m] with `UNKNOWNS`, (n, 2, 4) [px per degree, px per metre].

    Bearing, depression and height by central differences of the product's projection. Roll turns the picture about its axis
    (positive: the camera's right side is lower): du = v, dv = -u, whatever the projection, since both are radial.
    """
    x, y = point.T
    pairs = (
        (eye.turned(_STEP_RAD), eye.turned(-_STEP_RAD), math.degrees(2.0 * _STEP_RAD)),
        (eye.turned(0.0, _STEP_RAD), eye.turned(0.0, -_STEP_RAD), math.degrees(2.0 * _STEP_RAD)),
        (replace(eye, height_m=eye.height_m + _STEP_M), replace(eye, height_m=eye.height_m - _STEP_M), 2.0 * _STEP_M),
    )
    columns = []
    for more, less, step in pairs:
        (u1, v1, _), (u0, v0, _) = more.image_of(x, y, 0.0), less.image_of(x, y, 0.0)
        columns.append(np.stack([u1 - u0, v1 - v0], axis=1) / step)
    u, v, _ = eye.image_of(x, y, 0.0)
    roll = np.radians(1.0) * np.stack([v, -u], axis=1)
    return np.stack([columns[0], columns[1], roll, columns[2]], axis=2)


def standard_deviations(eye: Eye, point: np.ndarray) -> dict[str, float]:
    """What marks (n, 2) [m] tell when every column and row is read with a standard deviation of one pixel; {} when too little."""
    if len(point) < FEWEST:
        return {}
    j = sensitivities(eye, point).reshape(-1, len(UNKNOWNS))
    information = j.T @ j
    if np.linalg.cond(information) > 1e12:
        return {}
    return dict(zip(UNKNOWNS, np.sqrt(np.diag(np.linalg.inv(information))).tolist()))


def _best_of(eye: Eye, found: Candidates, pool: np.ndarray, count: int) -> list[int]:
    """Indices of the chosen candidates, mark 1 first; fewer than `count` when no more keep their distance."""
    if not len(pool):
        return []
    j = sensitivities(eye, found.point[pool])
    each = np.einsum("nki,nkj->nij", j, j)
    u, v, point = found.u[pool], found.v[pool], found.point[pool]
    near = np.hypot(u[:, None] - u, v[:, None] - v) < APART_SHARE * eye.columns
    near |= np.hypot(*(point[:, None] - point).transpose(2, 0, 1)) < APART_M
    chosen = [int(np.argmin(np.round(np.hypot(u, v), 6)))]
    while len(chosen) < count:
        more = _addition(each, near, chosen)
        if more is None:
            break
        chosen.append(more[0])
    for _ in range(10 * count):
        if not _exchange(each, near, chosen):
            break
    return [int(pool[i]) for i in chosen]


def _addition(each: np.ndarray, near: np.ndarray, kept: list[int]) -> tuple[int, float] | None:
    """The candidate that adds most to those kept, and the determinant with it; None when all are too near."""
    free = np.flatnonzero(~near[:, kept].any(axis=1))
    if not len(free):
        return None
    known = each[kept].sum(axis=0) + _RIDGE * np.eye(each.shape[1])
    gain = np.linalg.det(known + each[free])
    best = int(np.argmax(gain))
    return int(free[best]), float(gain[best])


def _exchange(each: np.ndarray, near: np.ndarray, chosen: list[int]) -> bool:
    """Change one mark (never mark 1) for a better one, in place; whether that helped."""
    now = float(np.linalg.det(each[chosen].sum(axis=0) + _RIDGE * np.eye(each.shape[1])))
    for k in range(1, len(chosen)):
        more = _addition(each, near, chosen[:k] + chosen[k + 1 :])
        if more is not None and more[1] > now * (1.0 + 1e-9):
            chosen[k] = more[0]
            return True
    return False


def _choice(eye: Eye, found: Candidates, chosen: list[int], stands_on: str, margin: float) -> Choice:
    far = np.hypot(found.point[:, 0] - eye.x_m, found.point[:, 1] - eye.y_m)
    rest = sorted(chosen[1:], key=lambda i: (round(float(far[i]), 6), found.u[i]))
    tall = found.bottle_px if stands_on == "bottle" else found.person_px
    marks = tuple(
        Mark(
            number, int(found.section[i]), float(found.chainage[i]), float(found.inside[i]), *map(float, found.point[i]),
            0.5 * eye.columns + float(found.u[i]), 0.5 * eye.rows + float(found.v[i]), float(tall[i]), float(far[i]),
        )
        for number, i in enumerate([*chosen[:1], *rest], start=1)
    )  # fmt: skip
    sd = standard_deviations(eye, found.point[[*chosen[:1], *rest]]) if chosen else {}
    return Choice(marks, stands_on, margin, sd, "" if chosen else _reason(eye, found))


def _reason(eye: Eye, found: Candidates) -> str:
    """Why a camera has no mark, one of `REASONS`."""
    if eye.lower_edge_rad <= 0.0:
        return REASONS[0]
    if not found.in_picture.any():
        return REASONS[1]
    if not (found.in_picture & found.clear).any():
        return REASONS[2]
    return REASONS[3]
