"""The same look written for array libraries, and the same bodies drawn by an image renderer: the rivals of `against.py`."""

from __future__ import annotations

import math
from typing import NamedTuple

import numpy as np

from fencecast.kernels.scratch import PARTS
from looks import Looks

IN_VIEW_SHARE = 0.01
# Looks share a batch when their windows round up to the same size; the pixels that this adds are masked. NumPy does best with
# a fine raster; a compiler of array programs needs seconds for every new shape, so it gets a coarse one.
FINE = np.arange(4, 1025, 4), np.arange(2, 1025, 2)  # rows, columns
COARSE = np.array([8, 12, 16, 20, 24, 32, 48, 80, 128, 1024]), np.array([8, 12, 16, 24, 40, 80, 160, 1024])


class Batch(NamedTuple):
    """Looks of one padded window size; every array's first axis is the look."""

    index: np.ndarray  # rows of Looks
    u: np.ndarray  # (looks, columns + 1) left edges of pixels [px]
    v: np.ndarray  # (looks, rows + 1)
    edges: np.ndarray  # (looks, PARTS, 4)
    contrast: np.ndarray  # (looks, PARTS)
    blur: np.ndarray  # (looks, 2)
    focal_px: np.ndarray
    variance: np.ndarray  # (looks, 2)
    last: np.ndarray  # (looks, 2) first column and row past the window
    centre: np.ndarray  # (2,)


def batches(looks: Looks, kind, pixels: float, raster=FINE) -> list[Batch]:
    """The looks grouped by padded window size, at most about `pixels` pixels a batch, as arrays of `kind` (float32, float64)."""
    tall = raster[0][np.searchsorted(raster[0], looks.window[:, 3] - looks.window[:, 2])]
    wide = raster[1][np.searchsorted(raster[1], looks.window[:, 1] - looks.window[:, 0])]
    made = []
    for columns, rows in sorted(set(zip(wide.tolist(), tall.tolist()))):
        members = np.flatnonzero((wide == columns) & (tall == rows))
        for index in np.array_split(members, min(len(members), math.ceil(len(members) * columns * rows / pixels))):
            part = [looks.edges[index, :PARTS], looks.contrast[index], looks.blur[index], looks.focal_px[index]]
            u = looks.window[index, 0, None] + np.arange(columns + 1)
            v = looks.window[index, 2, None] + np.arange(rows + 1)
            last = looks.window[index][:, [1, 3]]
            arrays = [u, v, *part, looks.variance[index], last, 0.5 * np.array(looks.frame)]
            made.append(Batch(index, *(np.ascontiguousarray(a, dtype=kind) for a in arrays)))
    return made


def shares(xp, ndtr, nodes, low, high, blur):
    """Shares of pixels that blurred intervals cover, (looks, PARTS, pixels), as differences of node values."""
    scale = (1.0 / blur)[:, None, None]

    def ramp(edge):
        x = (nodes[:, None, :] - edge[:, :, None]) * scale
        return x * ndtr(x) + 0.3989422804014327 * xp.exp(-0.5 * x * x)

    node = blur[:, None, None] * (ramp(low) - ramp(high))
    return xp.where((high > low)[:, :, None], node[:, :, 1:] - node[:, :, :-1], 0.0)


def fewer_than_three(xp, p):
    """P(fewer than three pixels pass), exact: elementary symmetric sums of degree 0 to 2, joined in halves; p (looks, pixels)."""
    q = 1.0 - p
    none, one, two = q, p, xp.zeros_like(p)
    while none.shape[1] > 1:
        half = none.shape[1] // 2
        a, b = slice(0, half), slice(half, 2 * half)
        joined = (
            none[:, a] * none[:, b],
            none[:, a] * one[:, b] + one[:, a] * none[:, b],
            none[:, a] * two[:, b] + one[:, a] * one[:, b] + two[:, a] * none[:, b],
        )
        if none.shape[1] % 2:
            joined = tuple(xp.concatenate([j, old[:, -1:]], axis=1) for j, old in zip(joined, (none, one, two)))
        none, one, two = joined
    return (none + one + two)[:, 0]


def draw_batch(xp, ndtr, batch: Batch):
    """Contrast of every pixel (looks, rows, columns) and whether the window holds it, and the shares covered."""
    x = shares(xp, ndtr, batch.u, batch.edges[:, :, 0], batch.edges[:, :, 1], batch.blur[:, 0])
    y = shares(xp, ndtr, batch.v, batch.edges[:, :, 2], batch.edges[:, :, 3], batch.blur[:, 1])
    y = xp.swapaxes(y, 1, 2)
    real = (batch.v[:, :-1] < batch.last[:, 1:])[:, :, None] & (batch.u[:, :-1] < batch.last[:, :1])[:, None, :]
    return xp.matmul(y * batch.contrast[:, None, :], x), xp.matmul(y, x), real


def look_at_batch(xp, ndtr, batch: Batch, threshold):
    """The whole look of a batch: (passed, perfect, in view, P(at least three pass)), each (looks,)."""
    contrast, covered, real = draw_batch(xp, ndtr, batch)
    contrast = xp.abs(contrast)
    du = batch.u[:, :-1] + 0.5 - batch.centre[0]
    dv = batch.v[:, :-1] + 0.5 - batch.centre[1]
    alpha = (1.0 / (batch.focal_px * batch.focal_px))[:, None]
    g = 1.0 + (alpha * dv * dv)[:, :, None] + (alpha * du * du)[:, None, :]
    g = g * g
    sigma = xp.sqrt(batch.variance[:, 0, None, None] * (g * g) + batch.variance[:, 1, None, None])
    p = ndtr(contrast / sigma - threshold) * real
    seen = (covered > IN_VIEW_SHARE) & real
    passed = (p * contrast).sum(axis=(1, 2))
    perfect = (contrast * seen).sum(axis=(1, 2))
    return passed, perfect, seen.sum(axis=(1, 2)), 1.0 - fewer_than_three(xp, p.reshape(len(p), -1))


def renderer_profiles(looks: Looks, index: np.ndarray, joined: bool) -> list:
    """For each look a list of (profile of the image library, empty image): its blurred rectangles, each weighted by contrast.

    joined: all rectangles as one profile, blurred and drawn together; else each is a profile of its own with its own image.
    """
    import galsim

    made = []
    for k in index:
        first_u, last_u, first_v, last_v = looks.window[k]
        middle_u, middle_v = 0.5 * (first_u + last_u), 0.5 * (first_v + last_v)
        boxes = []
        for (u0, u1, v0, v1), contrast in zip(looks.edges[k, :PARTS], looks.contrast[k]):
            if u1 > u0 and v1 > v0:
                box = galsim.Box(u1 - u0, v1 - v0).withFlux(contrast * (u1 - u0) * (v1 - v0))
                boxes.append(box.shift(0.5 * (u0 + u1) - middle_u, 0.5 * (v0 + v1) - middle_v))
        blur = galsim.Gaussian(sigma=1.0).transform(looks.blur[k, 0], 0.0, 0.0, looks.blur[k, 1]).withFlux(1.0)
        size = int(last_u - first_u), int(last_v - first_v)
        bodies = [galsim.Sum(boxes)] if joined else boxes
        made.append([(galsim.Convolve([body, blur]), galsim.ImageF(*size)) for body in bodies])
    return made


def render(profiles: list) -> None:
    """Draw every profile into its image; nothing else."""
    for parts in profiles:
        for profile, image in parts:
            profile.drawImage(image=image, scale=1.0)
