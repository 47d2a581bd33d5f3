"""What the picture of a site as built draws: marks in pixels of each sensor, wedges in the site's metres."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

import numpy as np

from fencecast import __version__
from fencecast.camera import camera_geometry
from fencecast.findings.builtwords import change_words, headline, odd_words, p_text
from fencecast.prove.built.built import AsBuilt, BuiltCamera
from fencecast.prove.built.mistakes import MISREAD
from fencecast.prove.built.pose import Pose
from fencecast.prove.built.seen import LN_FOCAL, picture_of
from fencecast.site import Site
from fencecast.site.geometry import vertices

# Of 100 good readings 95 lie within so many standard deviations of where the pose puts the mark, in two dimensions.
ELLIPSE_95 = math.sqrt(5.991465)
_BEYOND = 1.2  # wedges reach beyond the farthest mark by this factor
_ALONE_M = 15.0  # and so far without any


@dataclass(frozen=True, eq=False)
class BuiltMark:
    """One mark in the picture [px]: where the site file puts it (None when the lens maps nothing), where it was read, where the
    solved pose puts it with the covariance of a good reading there (2, 2), None when no pose fits; named: whether it is the mark
    that does not fit."""

    name: str
    expected: tuple[float, float] | None
    read: tuple[float, float]
    fitted: tuple[float, float] | None
    covariance: np.ndarray | None
    named: bool


@dataclass(frozen=True, eq=False)
class BuiltFrame:
    """The picture of one camera: its size [px], marks, what is said of it, whether it fits a pose."""

    mark: str
    columns: int
    rows: int
    marks: tuple[BuiltMark, ...]
    words: str
    fits: bool


@dataclass(frozen=True, eq=False)
class Wedge:
    """What a camera looks at, on the plan: corners (n, 2) [m] before and after; after: None where no pose fits."""

    mark: str
    at: tuple[float, float]
    before: np.ndarray
    after: np.ndarray | None


@dataclass(frozen=True, eq=False)
class BuiltData:
    """The whole picture. fences: corners (n, 2) [m] of each section; buildings: name and corners; attrs: for the foot."""

    title: str
    subtitle: str
    frames: tuple[BuiltFrame, ...]
    wedges: tuple[Wedge, ...]
    fences: tuple[np.ndarray, ...]
    buildings: tuple[tuple[str, np.ndarray], ...]
    units: str
    attrs: Mapping[str, Any]


def built_data(found: AsBuilt) -> BuiltData:
    """The picture of a site as built, as data."""
    site = found.design
    count = sum(len(each.marks) for each in found.cameras)
    attrs = {
        "title": site.title,
        "version": __version__,
        "site_sha256": site.sha256,
        "what": f"{count} marks read, {found.marks_sha256[:8]}; no crossings",
    }
    return BuiltData(
        headline(found),
        "What each camera looks at on the plan, and its picture with the marks that were read. Words: built minus designed.",
        tuple(_frame(each) for each in found.cameras),
        tuple(_wedge(site, found, camera.mark) for camera in site.camera),
        tuple(vertices(section) for section in site.perimeter),
        tuple((obstacle.name, np.asarray(obstacle.footprint_m, dtype=float)) for obstacle in site.obstacle),
        site.units,
        attrs,
    )


def _frame(camera: BuiltCamera) -> BuiltFrame:
    pose = _shown_pose(camera)
    expected = picture_of(camera.design, camera.marks.place, camera.image)[0]
    fitted, covariance = (None, None) if pose is None else _where(camera, pose)
    wrong = camera.explanations[0].marks if camera.explanations else ()
    marks = tuple(
        BuiltMark(
            mark.name,
            None if np.isnan(expected[k]).any() else (float(expected[k, 0]), float(expected[k, 1])),
            (float(camera.marks.read[k, 0]), float(camera.marks.read[k, 1])),
            None if fitted is None else (float(fitted[k, 0]), float(fitted[k, 1])),
            None if covariance is None else covariance[k],
            mark.name in wrong,
        )
        for k, mark in enumerate(camera.read.marks)
    )
    words = f"{change_words(camera)} (p {p_text(camera.pose.p)})" if camera.fits else odd_words(camera).split(" ", 1)[1]
    return BuiltFrame(camera.mark, camera.image.columns, camera.image.rows, marks, words, camera.fits)


def _shown_pose(camera: BuiltCamera) -> Pose | None:
    """The pose whose ellipses are drawn: the solved one, or that of all other marks where one is misread."""
    if camera.fits:
        return camera.pose
    first = camera.explanations[0] if camera.explanations else None
    return first.pose if first is not None and first.kind == MISREAD else None


def _where(camera: BuiltCamera, pose: Pose) -> tuple[np.ndarray, np.ndarray]:
    """Where a pose puts every mark (n, 2), and the covariance of a good reading about it (n, 2, 2)."""
    fitted, slope = picture_of(pose.value, camera.marks.place, camera.image)
    noise = np.stack([np.diag(each**2) for each in camera.pose.sd_px])
    return fitted, noise + slope @ pose.covariance @ slope.transpose(0, 2, 1)


def _wedge(site: Site, found: AsBuilt, mark: str) -> Wedge:
    before = next(each for each in site.camera if each.mark == mark)
    read = next((each for each in found.cameras if each.mark == mark), None)
    geometry = camera_geometry(site, before)
    reach = _ALONE_M
    if read is not None:
        reach = _BEYOND * float(np.hypot(*(read.marks.place[:, :2] - (geometry.x_m, geometry.y_m)).T).max())
    half = 0.5 * min(geometry.horizontal_field_rad, math.pi)
    after = None
    if read is not None and read.fits:
        value = read.pose.value
        wide = half
        if len(value) > LN_FOCAL:
            wide = math.atan(math.tan(min(half, 1.5)) / math.exp(value[LN_FOCAL]))
        after = _sector((float(value[4]), float(value[5])), float(value[0]), wide, reach)
    at = (geometry.x_m, geometry.y_m)
    return Wedge(mark, at, _sector(at, geometry.bearing_rad, half, reach), after)


def _sector(at: tuple[float, float], bearing_rad: float, half_rad: float, reach_m: float) -> np.ndarray:
    turn = bearing_rad + np.linspace(-half_rad, half_rad, 25)
    return np.vstack([at, np.array(at) + reach_m * np.stack([np.sin(turn), np.cos(turn)], axis=1)])
