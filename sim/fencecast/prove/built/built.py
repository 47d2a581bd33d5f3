"""The site as it was built: each camera's pose from marks that were read in its picture, and the site file that says so.

    import fencecast as fc
    found = fc.built("yard.toml", "marks.csv")
    found.site                                     # the site with the poses that fit
    fc.plot_built(found)                           # expected and read marks, before and after
    fc.compare(found.designs)                      # what the difference does

Tests: tests/prove/built/test_built.py.
"""

from __future__ import annotations

import datetime
import math
from dataclasses import dataclass
from os import PathLike
from typing import Any

import numpy as np

from fencecast.camera import ImageGeometry, image_geometry
from fencecast.decide.compare.variants import Variant
from fencecast.errors import InputError, UnknownNameError
from fencecast.prove.built.designview import at_the_edge, not_to_be_seen
from fencecast.prove.built.marksread import ReadCamera, parse_picture, read_marks
from fencecast.prove.built.mistakes import REFUSED_BELOW, Explanation, explanations
from fencecast.prove.built.newsite import degrees, rewritten
from fencecast.prove.built.pose import Errors, Marks, Pose, solve
from fencecast.prove.built.seen import BEARING, DEPRESSION, HEIGHT, LN_FOCAL, ROLL
from fencecast.site import Site, as_site
from fencecast.site.schema import Camera

DESIGN, BUILT = "design", "built"
# A focal length is written when it moved by so many standard deviations. The mast never is: what lies within its prior is told by
# nothing, and what lies beyond it does not fit, and is named (`mistakes.MAST`).
LENS_SD = 2.0
LENS_FREE_FROM = 6


@dataclass(frozen=True, eq=False)
class BuiltCamera:
    """One camera: what was read, the pose of the file (6,) and the solved one, why it does not fit, whether it was written.

    read: what was read; marks: the same on the sensor [px]; picture: columns and rows of the picture that was read, None for the
    sensor's; written: its keys in the new site file, empty when the pose does not fit; lens: of the file.
    """

    mark: str
    read: ReadCamera
    marks: Marks
    image: ImageGeometry
    design: np.ndarray
    pose: Pose
    explanations: tuple[Explanation, ...]
    written: dict[str, Any]
    lens: str
    design_focal_mm: float

    @property
    def fits(self) -> bool:
        """Whether the readings fit a pose."""
        return self.pose.p >= REFUSED_BELOW

    @property
    def focal_mm(self) -> float:
        """Focal length that the pose has."""
        free = len(self.pose.value) > LN_FOCAL
        return self.design_focal_mm * (math.exp(self.pose.value[LN_FOCAL]) if free else 1.0)

    @property
    def moved(self) -> np.ndarray:
        """(6,) solved minus designed, in the order of `seen.NAMES`; angles [rad] from -pi to pi."""
        by = self.pose.value[:6] - self.design
        by[BEARING] = math.remainder(by[BEARING], 2.0 * math.pi)
        return by


@dataclass(frozen=True, eq=False)
class AsBuilt:
    """A whole file of marks: the design, the site as built (poses that do not fit stay as designed), cameras in their order.

    not_read: marks of cameras in the file without any reading; warnings: what a reader should look at.
    """

    design: Site
    site: Site
    cameras: tuple[BuiltCamera, ...]
    not_read: tuple[str, ...]
    warnings: tuple[str, ...]
    marks_sha256: str

    @property
    def designs(self) -> tuple[Variant, Variant]:
        """The design and the site as built, for `fc.compare`: both meet the same crossings."""
        return Variant(DESIGN, self.design.replace(variant=())), Variant(BUILT, self.site.replace(variant=()))

    @property
    def not_fitted(self) -> tuple[str, ...]:
        """Marks of cameras whose readings fit no pose."""
        return tuple(each.mark for each in self.cameras if not each.fits)

    def of(self, mark: str) -> BuiltCamera:
        """One camera's; UnknownNameError for one without readings."""
        for each in self.cameras:
            if each.mark == mark:
                return each
        raise UnknownNameError("camera", mark, [each.mark for each in self.cameras], "the file of marks")


def built(
    site: Site | str | PathLike[str],
    marks: str | PathLike[str],
    picture: str | tuple[int, int] | None = None,
    lens_free: bool = False,
    date: str | None = None,
) -> AsBuilt:
    """The poses of cameras from a file of marks that `fencecast aim` wrote and people filled in.

    picture: size of the picture that was read, such as "640x480", when it is not the sensor's; lens_free: solve for the focal
    length too, of cameras with six marks and more; date: what `[built]` says, today by default. The same readings give the same
    bits. InputError with every problem of the file; a pose that does not fit is no error: see `AsBuilt.not_fitted`.
    """
    site = as_site(site)
    size = parse_picture(picture)
    name = str(marks)
    found = read_marks(marks, site, size)
    problems = [text for each in found.cameras for text in not_to_be_seen(site, each)]
    if problems:
        raise InputError(problems, name)
    cameras, warnings = [], []
    for read in found.cameras:
        warnings += _warnings(site, read, lens_free)
        camera = next(each for each in site.camera if each.mark == read.mark)
        try:
            cameras.append(_solved(site, camera, read, size, lens_free and len(read.marks) >= LENS_FREE_FROM))
        except ArithmeticError:
            problems.append(f'camera "{read.mark}": no pose near the one in the site file has all of its marks before the lens')
    if problems:
        raise InputError(problems, name)
    new_lenses = {lens: old for each in cameras if each.fits for lens, old in _new_lens(site, each).items()}
    table = _built_table(site, cameras, found.sha256, date or datetime.date.today().isoformat())
    made = rewritten(site, {each.mark: each.written for each in cameras}, new_lenses, table, "the site as built")
    return AsBuilt(site, made, tuple(cameras), found.not_read, tuple(warnings), found.sha256)


def _warnings(site: Site, read: ReadCamera, lens_free: bool) -> list[str]:
    texts = at_the_edge(site, read)
    if read.not_read:
        texts.append(f'camera "{read.mark}": marks not read, and left out: {", ".join(read.not_read)}')
    if lens_free and len(read.marks) < LENS_FREE_FROM:
        texts.append(
            f'camera "{read.mark}": {len(read.marks)} marks do not tell a focal length; {LENS_FREE_FROM} do, so it stays as it is'
        )
    return texts


def _solved(site: Site, camera: Camera, read: ReadCamera, size: tuple[int, int] | None, lens_free: bool) -> BuiltCamera:
    lens = site.lenses[camera.lens]
    image = image_geometry(site.sensors[camera.sensor], lens)
    scale = np.array([1.0, 1.0]) if size is None else np.array([image.columns / size[0], image.rows / size[1]])
    marks = Marks(read.places(), read.readings() * scale)
    design = np.array(
        [
            math.radians(camera.bearing_deg or 0.0), math.radians(camera.depression_deg or 0.0), math.radians(camera.roll_deg),
            camera.height_m, *camera.position_m,
        ]
    )  # fmt: skip
    errors = Errors(quantum_px=(float(scale[0]), float(scale[1])))
    pose = solve(marks, image, design, read.tape_m, errors, lens_free)
    why: tuple[Explanation, ...] = ()
    if pose.p < REFUSED_BELOW:
        names = tuple(each.name for each in read.marks)
        why = explanations(names, marks, image, design, read.tape_m, errors, lens_free)
    found = BuiltCamera(
        camera.mark, read, marks, image, design, pose, why, {}, camera.lens, float(lens.focal_length_mm)
    )  # fmt: skip
    if found.fits:
        found.written.update(_keys(site, found))
    return found


def _keys(site: Site, camera: BuiltCamera) -> dict[str, Any]:
    """What the new site file says of a camera that fits."""
    value, sd = camera.pose.value, camera.pose.sd
    keys: dict[str, Any] = {
        "height_m": round(float(value[HEIGHT]), 3),
        "bearing_deg": degrees(value[BEARING]) % 360.0,
        "depression_deg": degrees(value[DEPRESSION]),
        "roll_deg": degrees(value[ROLL]),
        "bearing_sd_deg": max(degrees(sd[BEARING]), 0.001),
        "depression_sd_deg": max(degrees(sd[DEPRESSION]), 0.001),
        "height_sd_m": max(round(float(sd[HEIGHT]), 3), 0.001),
    }
    for name in _new_lens(site, camera):
        keys["lens"] = name
    return keys


def _new_lens(site: Site, camera: BuiltCamera) -> dict[str, tuple[str, float]]:
    """The lens that a camera turned out to have, by its new name; {} when it is the file's."""
    value = camera.pose.value
    if len(value) <= LN_FOCAL or abs(value[LN_FOCAL]) <= LENS_SD * camera.pose.sd[LN_FOCAL]:
        return {}
    name = f"{camera.lens} of {camera.mark}"[:60].strip()
    while name in site.lenses:
        name = f"{name[:50].strip()} as built"
    return {name: (camera.lens, round(camera.focal_mm, 3))}


def _built_table(site: Site, cameras: list[BuiltCamera], sha256: str, date: str) -> dict[str, Any]:
    """Keys of `[built]`; what it said of cameras that were not read now stays."""
    old = site.built
    now = {each.mark for each in cameras}
    fitted = [each for each in cameras if each.fits]

    def by_mark(key: str, new: dict[str, Any]) -> dict[str, Any]:
        kept = getattr(old, key) or {} if old is not None else {}
        return {mark: value for mark, value in kept.items() if mark not in now} | new

    table: dict[str, Any] = {
        "date": date,
        "marks_sha256": sha256,
        "chi2": by_mark("chi2", {each.mark: round(each.pose.cost, 3) for each in fitted}),
        "dof": by_mark("dof", {each.mark: each.pose.dof for each in fitted}),
        "readings": by_mark("readings", {each.mark: 2 * len(each.marks) for each in fitted}),
    }
    kept = [mark for mark in (old.not_fitted or () if old is not None else ()) if mark not in now]
    missed = [*kept, *(each.mark for each in cameras if not each.fits)]
    return {key: value for key, value in table.items() if value} | ({"not_fitted": missed} if missed else {})
