"""Setting up one look from a site: the medians, the person on the camera's bearing, and the kernel's own look at them."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import NamedTuple

import numpy as np

from fencecast.errors import UsageError, did_you_mean, name_list
from fencecast.kernels.draw import quantile
from fencecast.kernels.look import NOISE_AXIS, RANGE_M, look_at_body
from fencecast.kernels.pack import pack_plan
from fencecast.kernels.pack_stimuli import POSTURES
from fencecast.kernels.pose import fill_pose, optics_of, pose_of
from fencecast.kernels.sight import ground_behind
from fencecast.kernels.state import (
    coat_temperatures,
    draw_air,
    draw_clothing,
    fill_body_radiances,
    fill_radiances,
    surface_temperatures,
)
from fencecast.kernels.types import STATURE_M, Body, Motion, Pose
from fencecast.kernels.work import make_work
from fencecast.meteorology.load import classes_of, described
from fencecast.onelook.bodies import Subject, base_m, coat_m2k_w, size_m, subject_of
from fencecast.physics.body import GAITS, body_size_m, part_middle_m, silhouette_kind
from fencecast.physics.coat import fur_wetness
from fencecast.physics.optics import relative_illumination
from fencecast.physics.surfaces import wet_clothing_emissivity
from fencecast.sampling.variables import SITE_VARIABLES
from fencecast.site.mounting import need_camera
from fencecast.units import ZERO_CELSIUS_K

MEDIAN = 0.5
MOST_DISTANCE_M = 1000.0


@dataclass
class Look:
    """One look as the kernel saw it, with what it was made from."""

    site: object
    plan: object
    camera_index: int
    weather: object  # the class as a table of the site file: of a class of real hours, its medians
    subject: Subject
    gait: str  # of a person
    distance_m: float
    air: object
    clo: float  # NaN for what wears none
    coat_m2k_w: float  # NaN for what has none
    dry_emissivity: float
    bare_share: float
    clothing_k: float  # of clothing, coat, or a vehicle's sides
    skin_k: float
    legs_k: float  # of legs, or a vehicle's bonnet and wheels; NaN for a person
    speed_m_s: float
    pose: Pose
    body: Body
    noise: float  # temporal noise on axis [W/(m²·sr)]
    drawn: bool
    work: object

    @property
    def camera(self):
        return self.site.camera[self.camera_index]

    @property
    def result(self) -> np.ndarray:
        """The kernel's numbers of this look (rows of `kernels.look`)."""
        return self.work.look

    @property
    def band(self) -> int:
        return int(self.plan.cameras.band[self.camera_index])

    @property
    def slope_300k(self) -> float:
        """dL/dT(300 K) of the camera's band: contrast in kelvin is radiance over this, as NETD is stated."""
        return float(self.plan.bands.slope_300k[self.band])

    @property
    def cover_emissivity(self) -> float:
        """Of clothing, coat or sides, as wet as they are."""
        wetness = self.air.wetness if self.subject.is_person else fur_wetness(self.air.wetness)
        return float(wet_clothing_emissivity(self.dry_emissivity, wetness))

    @property
    def shape_cycles(self) -> float:
        """Cycles at which half of all bodies are distinguished by their shape."""
        own = self.subject.stimulus.shape_cycles if self.subject.stimulus else None
        return float(self.site.decision.shape_cycles if own is None else own)

    def radiance(self, column: int) -> float:
        return float(self.work.radiance[self.band, column])

    def part_middle_m(self, part: int) -> float:
        """Height of the middle of a part of the body [m]."""
        motion = self.body.motion
        return float(part_middle_m(silhouette_kind(motion.posture), part, motion.base, self.body.height))

    def background_range_m(self, height_m: float) -> float:
        """Range at which the ray through a height over the person meets the ground behind; inf above the horizon."""
        return float(self.result[RANGE_M] * ground_behind(self.pose.position[2], height_m))

    def noise_at(self, u_px: float, v_px: float) -> float:
        """Temporal noise radiance at a picture point: on axis over the relative illumination."""
        cameras, k = self.plan.cameras, self.camera_index
        du, dv = u_px - 0.5 * cameras.columns[k], v_px - 0.5 * cameras.rows[k]
        cos4 = cameras.illumination_focal_px[k] > 0.0
        share = relative_illumination(math.hypot(du, dv), cameras.focal_px[k], cameras.projection[k], cos4)
        return self.noise / share


def camera_index(site, mark: str) -> int:
    """Index of a camera by its mark; UsageError with a near match when there is none."""
    need_camera(site)
    marks = [camera.mark for camera in site.camera]
    if mark in marks:
        return marks.index(mark)
    raise UsageError(f'no camera "{mark}" in this site; there are {name_list(marks)}' + did_you_mean(mark, marks))


def described_classes(site) -> tuple:
    """Every weather class of a site as a table of its file; one made of real hours at the medians of them."""
    return tuple(described(each) for each in classes_of(site))


def weather_named(classes, name: str):
    """A weather class by its name; UsageError with a near match when there is none."""
    names = [w.name for w in classes]
    if name in names:
        return classes[names.index(name)]
    raise UsageError(f'no weather class "{name}" in this site; there are {name_list(names)}' + did_you_mean(name, names))


def gait_index(gait: str) -> int:
    """Index of a gait, typed with a blank or an underscore."""
    spoken = gait.replace("_", " ")
    if spoken not in GAITS:
        raise UsageError(f'no gait "{gait}"; there are {name_list(GAITS)}' + did_you_mean(spoken, GAITS))
    return GAITS.index(spoken)


def set_up_look(
    site, camera: str, weather: str, distance_m: float | None, gait: str = "walk", classes=None, place_m=None, body=None
) -> Look:
    """One look by the kernel itself, every varying quantity at its median.

    The person is on the camera's bearing at that ground distance [m], or at `place_m` (x, y) [m] when it is given, moving across
    the view to the right. classes: what `described_classes` gave, when the caller has it already. body: name of a stimulus or of
    its kind, instead of the intruder. UsageError for an unknown camera, class, gait or body, an impossible distance, a place and
    a distance at once, a gait of what has none.
    """
    k, g, subject = camera_index(site, camera), gait_index(gait), subject_of(site, body)
    if g and not subject.is_person:
        raise UsageError(f'"{body}" has no gait of a person; leave --gait out')
    asked = weather_named(described_classes(site) if classes is None else classes, weather)
    if (distance_m is None) == (place_m is None):
        raise UsageError("say where the person is: either a distance on the camera's bearing or a place, not both")
    if place_m is not None:
        distance_m, bearing = _seen_from(site.camera[k], place_m)
    if not (math.isfinite(distance_m) and 0.1 <= distance_m <= MOST_DISTANCE_M):
        raise UsageError(f"distance {distance_m:g} is not allowed: metres from 0.1 to {MOST_DISTANCE_M:g}; type for instance 40")
    plan = pack_plan(site, [asked])
    work = make_work(
        len(site.camera), plan.bands.low_um.size, plan.decision.node_z.size, plan.decision.confirm_n - 1, len(SITE_VARIABLES), 16
    )
    air = draw_air(plan.weather, 0, *[MEDIAN] * 10)
    warm = _person(plan, subject, g, air, work.radiance) if subject.is_person else _body(plan, subject, air, work.radiance)
    height, breadth, depth = warm.size_m
    pose = pose_of(work.poses, k)
    fill_pose(plan.cameras, k, 0.0, 0.0, 0.0, pose)
    if place_m is None:
        bearing = float(plan.cameras.bearing_rad[k])
    x, y = pose.position[0] + distance_m * math.sin(bearing), pose.position[1] + distance_m * math.cos(bearing)
    right = (math.cos(bearing), -math.sin(bearing))
    noise = plan.cameras.netd_k[k] * plan.bands.slope_300k[plan.cameras.band[k]]
    base, posture = base_m(site, subject.stimulus, x, y), g if subject.is_person else POSTURES[subject.stimulus.silhouette]
    speed = warm.speed_m_s
    box = Body(Motion(x, y, base, *right, speed * right[0], speed * right[1], 0.0, posture), height, breadth, depth)
    drawn = look_at_body(plan, optics_of(plan.cameras, k), pose, box, air, work.radiance, noise, work)
    work.look[NOISE_AXIS] = noise
    if not drawn:  # still say how far the person is
        work.look[RANGE_M] = math.hypot(distance_m, pose.position[2] - base - 0.5 * height)
    return Look(
        site, plan, k, asked, subject, GAITS[g], float(distance_m), air, warm.clo, warm.coat_m2k_w, warm.emissivity,
        warm.bare_share, warm.cover_k, warm.skin_k, warm.legs_k, speed, pose, box, noise, bool(drawn), work,
    )  # fmt: skip


class _Warm(NamedTuple):
    """A body at its medians: height, breadth and depth [m], and how warm its surfaces are."""

    size_m: tuple[float, float, float]
    speed_m_s: float
    clo: float
    coat_m2k_w: float
    emissivity: float
    bare_share: float
    cover_k: float
    skin_k: float
    legs_k: float


def _person(plan, subject: Subject, g: int, air, table) -> _Warm:
    """Someone dressed as the intruder, in gait g; what leaves them and their surroundings into table (bands, RADIANCES)."""
    who, own = plan.intruder, subject.stimulus.speed_m_s if subject.stimulus else None
    clo, emissivity, bare = draw_clothing(who, air, MEDIAN, MEDIAN, MEDIAN)
    speed = quantile(who.speed[g], who.choice, MEDIAN) if own is None else own.middle()
    clothing_k, skin_k = surface_temperatures(air, speed, clo, emissivity)
    fill_radiances(table, plan.bands, air, plan.scene.ground_emissivity, clothing_k, skin_k, emissivity, bare)
    stature = quantile(who.quantity[STATURE_M], who.choice, MEDIAN)
    share = quantile(who.depth_share[g], who.choice, MEDIAN) if g < len(who.depth_share) else math.nan
    return _Warm(body_size_m(g, stature, share), speed, clo, math.nan, emissivity, bare, clothing_k, skin_k, math.nan)


def _body(plan, subject: Subject, air, table) -> _Warm:
    """As `_person` for an animal or a vehicle."""
    stimulus, emissivity, bare = subject.stimulus, subject.dry_emissivity, subject.bare_share
    speed = stimulus.speed_m_s.middle()
    coat = coat_m2k_w(stimulus, air.air_temperature_k - ZERO_CELSIUS_K)
    if stimulus.over_air_k is not None:
        cover_k, legs_k = (air.air_temperature_k + over for over in stimulus.over_air_k)
        skin_k = cover_k
    else:
        cover_k, skin_k, legs_k = coat_temperatures(air, speed, coat, stimulus.leg_m2k_w or 0.0, emissivity)
        legs_k = legs_k if stimulus.leg_m2k_w else math.nan
    ground = plan.scene.ground_emissivity
    legs = cover_k if math.isnan(legs_k) else legs_k
    fill_body_radiances(table, plan.bands, air, ground, cover_k, skin_k, legs, emissivity, bare)
    return _Warm(size_m(stimulus), speed, math.nan, coat, emissivity, bare, cover_k, skin_k, legs_k)


def _seen_from(camera, place_m) -> tuple[float, float]:
    """Ground distance [m] and bearing [rad] of a place (x, y) from a camera."""
    x, y = (float(value) for value in place_m)
    if not (math.isfinite(x) and math.isfinite(y)):
        raise UsageError("a place is two numbers, x and y in metres; type for instance --at 12 30")
    dx, dy = x - camera.position_m[0], y - camera.position_m[1]
    return math.hypot(dx, dy), math.atan2(dx, dy)
