"""A body pixel by pixel: the product's own look, its drawing and its sums, against an astronomical image library."""

from __future__ import annotations

import math
from functools import cache
from types import SimpleNamespace
from typing import NamedTuple

import numpy as np

from fencecast.evidence import yard
from fencecast.evidence.check import Check, outside, with_version
from fencecast.evidence.optics import random_body
from fencecast.kernels import look, state
from fencecast.kernels import pose as pose_room
from fencecast.kernels.look import BLUR_U, BLUR_V, CYCLES, P_LOOK, SEEN_SHARE
from fencecast.kernels.types import Body, Motion
from fencecast.kernels.work import make_work
from fencecast.onelook import drawing
from fencecast.sampling.variables import SITE_VARIABLES

POSES = 200


def part_images(edges, blur_u: float, blur_v: float, first: tuple[int, int], shape: tuple[int, int]) -> np.ndarray:
    """Box * Gaussian * Pixel of each rectangle, (parts, rows, columns), in a window that begins at pixel first (u, v)."""
    galsim = outside("galsim")
    tight = galsim.GSParams(
        folding_threshold=1e-5, maxk_threshold=1e-6, kvalue_accuracy=1e-9, xvalue_accuracy=1e-9, maximum_fft_size=16384
    )
    blur = galsim.Gaussian(sigma=1.0, gsparams=tight).transform(blur_u, 0.0, 0.0, blur_v).withFlux(1.0)
    images = []
    for u0, u1, v0, v1 in edges:
        box = galsim.Box(u1 - u0, v1 - v0, gsparams=tight)
        profile = galsim.Convolve([box, blur], gsparams=tight).withFlux((u1 - u0) * (v1 - v0))
        image = galsim.ImageD(shape[1], shape[0])
        # The library numbers pixel centres from 1, so that pixel 0 of ours is centred at 1 of its frame.
        centre = galsim.PositionD(0.5 * (u0 + u1) + 0.5 - first[0], 0.5 * (v0 + v1) + 0.5 - first[1])
        profile.drawImage(image=image, scale=1.0, method="auto", center=centre)
        images.append(image.array)
    return np.array(images)


def look_at(plan, random, work):
    """A random body seen by the product's own look, as `onelook.drawing` wants it; None when it is not in the picture."""
    errors = (random.uniform(-3.0, 3.0), random.uniform(-0.1, 0.1), random.uniform(-1.0, 1.0))
    x, y, hx, hy, gait, speed, sizes = random_body(random, errors[0], reach_m=(6.0, 45.0))
    air = state.draw_air(plan.weather, 0, *[0.5] * 10)
    state.fill_radiances(work.radiance, plan.bands, air, plan.scene.ground_emissivity, 281.5, 296.0, 0.87, 0.25)
    pose = pose_room.pose_of(work.poses, 0)
    pose_room.fill_pose(plan.cameras, 0, *errors, pose)
    # From the camera's own noise to so much that the body hardly passes: chances between 0 and 1 are the ones that tell.
    noise = float(plan.cameras.netd_k[0] * plan.bands.slope_300k[0] * math.exp(random.uniform(0.0, 3.5)))
    body = Body(Motion(x, y, 0.0, hx, hy, speed * hx, speed * hy, 0.0, gait), *sizes)
    drawn = look.look_at_body(plan, pose_room.optics_of(plan.cameras, 0), pose, body, air, work.radiance, noise, work)
    return SimpleNamespace(camera_index=0, plan=plan, work=work, result=work.look, noise=noise, drawn=True) if drawn else None


def at_least(p: np.ndarray, wanted: int) -> float:
    """P(at least `wanted` of independent pixels pass), one pixel after the other."""
    chance = np.zeros(wanted)
    chance[0] = 1.0
    for each in p.ravel():
        chance[1:] = chance[1:] * (1.0 - each) + chance[:-1] * each
        chance[0] *= 1.0 - each
    return 1.0 - float(chance.sum())


@cache
def _drawn_outside(count: int):
    """The outside pictures: a list of (seed, edges, window, images); kept, because each takes its time."""
    kept = []
    for case in range(4 * count):
        plan = yard.looking_about(("rectilinear", "equidistant")[case % 2])
        seen = look_at(
            plan, np.random.default_rng([31, case]), make_work(1, 1, plan.decision.node_z.size, 4, len(SITE_VARIABLES), 8)
        )
        if seen is None:
            continue
        edges = seen.work.edges.copy()
        reach_u, reach_v = 5.0 * seen.result[BLUR_U] + 2.0, 5.0 * seen.result[BLUR_V] + 2.0
        first = math.floor(edges[4, 0] - reach_u), math.floor(edges[4, 2] - reach_v)
        shape = math.ceil(edges[4, 3] + reach_v) - first[1], math.ceil(edges[4, 1] + reach_u) - first[0]
        images = part_images(edges[:4], seen.result[BLUR_U], seen.result[BLUR_V], first, shape)
        kept.append((case, first, images))
        if len(kept) == count:
            break
    return kept


class Worst(NamedTuple):
    """Worst differences over the poses; unsure: in how many the chance to pass is neither 0 nor 1."""

    drawing: float  # of the peak
    seen_share: float
    cycles: float  # relative
    passes: float
    unsure: int


def _worst(count: int) -> Worst:
    ndtr = outside("scipy.special").ndtr
    worst, unsure = np.zeros(4), 0
    for case, first, images in _drawn_outside(count):
        plan = yard.looking_about(("rectilinear", "equidistant")[case % 2])
        seen = look_at(
            plan, np.random.default_rng([31, case]), make_work(1, 1, plan.decision.node_z.size, 4, len(SITE_VARIABLES), 8)
        )
        rows, columns = images.shape[1:]
        whole = np.tensordot(seen.work.contrast, images, axes=1)
        # Where the window and the frame overlap: rows and columns of each.
        v = np.arange(max(first[1], 0), min(first[1] + rows, yard.ROWS))
        u = np.arange(max(first[0], 0), min(first[0] + columns, yard.COLUMNS))
        theirs = whole[np.ix_(v - first[1], u - first[0])]
        frame = drawing.frame(seen)
        worst[0] = max(worst[0], np.abs(frame["contrast"][np.ix_(v, u)] - theirs).max() / np.abs(whole).max())
        sigma = frame["sigma"][np.ix_(v, u)]
        edges, blur = seen.work.edges[4], (seen.result[BLUR_U], seen.result[BLUR_V])
        near = np.outer(
            (v >= math.floor(edges[2] - 4.0 * blur[1])) & (v < math.ceil(edges[3] + 4.0 * blur[1])),
            (u >= math.floor(edges[0] - 4.0 * blur[0])) & (u < math.ceil(edges[1] + 4.0 * blur[0])),
        )
        chance = np.where(near, ndtr(np.abs(theirs) / sigma - plan.decision.threshold), 0.0)
        share = float((chance * np.abs(theirs)).sum() / np.abs(whole).sum())
        cycles = 0.5 * math.sqrt((edges[1] - edges[0]) * (edges[3] - edges[2]) * share)
        passes = at_least(chance[near], plan.decision.min_pixels)
        worst[1] = max(worst[1], abs(seen.result[SEEN_SHARE] - share))
        worst[2] = max(worst[2], abs(seen.result[CYCLES] / cycles - 1.0))
        worst[3] = max(worst[3], abs(seen.result[P_LOOK] - passes))
        unsure += 0.01 < passes < 0.99
    return Worst(*(float(each) for each in worst), unsure)


def body_drawn() -> Check:
    """Catches a shift by half a pixel, a blur that is not its sd, parts in the wrong place, shares that are point samples."""
    return Check(
        "body_drawn",
        "A body pixel by pixel, 200 random poses",
        _worst(POSES).drawing,
        "of the peak",
        1e-5,
        "accuracy asked of the library (1e-6 a part), four parts",
        f"Box * Gaussian * Pixel ({with_version('GalSim')})",
        POSES,
    )


def body_sums() -> Check:
    """Catches sums over the wrong pixels, |C| of parts for |C| of their sum, frames that do not cut, noise that is its square."""
    worst = _worst(POSES)
    return Check(
        "body_sums",
        "The kernel's seen share and resolved cycles, same poses",
        max(worst.seen_share, worst.cycles),
        "of 1, relative",
        2e-4,
        "32-bit pixels; 6e-5 of a body lies beyond four blurs",
        f"sums over the library's pixels ({with_version('GalSim', 'scipy')})",
        2 * POSES,
    )


def body_passes() -> Check:
    """Catches padding that counts as pixels, a chance that is off in a few hundred pixels at once."""
    worst = _worst(POSES)
    return Check(
        "body_passes",
        "The chance that 3 pixels pass the threshold, same poses",
        worst.passes,
        "of 1",
        2e-4,
        "32-bit pixels: 3e-7 in each of some hundred, and rounding of sums",
        f"pixel after pixel over the library's picture ({with_version('GalSim', 'scipy')})",
        POSES,
        note=f"neither 0 nor 1 in {worst.unsure} poses",
    )


CHECKS = (body_drawn, body_sums, body_passes)
