"""The pixel loop in float32 against an astronomical image library and plain float64 sums over pixels.

The kernel returns sums only. The reference draws each of the four parts with GalSim (Box * Gaussian * Pixel), adds them, holds
them against a plain formula for the noise, and adds up pixel by pixel.
"""

from __future__ import annotations

import math

import galsim
import numpy as np
import pytest
from scipy.special import ndtr

from fencecast.kernels import render, scratch
from fencecast.physics.body import SILHOUETTES
from fencecast.physics.detector import pixel_share_array
from fencecast.physics.optics import EQUIDISTANT, RECTILINEAR
from physics.imagelibrary import TIGHT

SCRATCH = np.zeros(scratch.SCRATCH_SIZE, np.float32)
SCRATCH[:] = np.float32(1e6)  # whatever an earlier look left behind must not matter


def body_edges(u0, v0, width, height, kind=0):
    """Four parts of a silhouette and, last, the whole rectangle, (5, 4)."""
    parts = SILHOUETTES[kind]
    edges = np.zeros((5, 4))
    edges[:4, :2] = u0 + parts[:, :2] * width
    edges[:4, 2:] = v0 + parts[:, 2:] * height
    edges[4] = u0, u0 + width, v0, v0 + height
    return edges


def shares_by_image_library(edges, blur_u, blur_v, columns, rows):
    """Share of each pixel that each part covers, (4, rows, columns); an empty part covers nothing."""
    blur = galsim.Gaussian(sigma=1.0, gsparams=TIGHT).transform(blur_u, 0.0, 0.0, blur_v).withFlux(1.0)
    images = np.zeros((4, rows, columns))
    for part in range(4):
        u0, u1, v0, v1 = edges[part]
        if u1 <= u0 or v1 <= v0:
            continue
        box = galsim.Box(u1 - u0, v1 - v0, gsparams=TIGHT)
        profile = galsim.Convolve([box, blur], gsparams=TIGHT).withFlux((u1 - u0) * (v1 - v0))
        image = galsim.ImageD(columns, rows)
        centre = galsim.PositionD(0.5 * (u0 + u1) + 0.5, 0.5 * (v0 + v1) + 0.5)
        profile.drawImage(image=image, scale=1.0, method="auto", center=centre)
        images[part] = image.array
    return images


def shares_by_formula(edges, blur_u, blur_v, columns, rows):
    """The same in float64 by the reference formula (checked against the image library in its own test)."""
    images = np.zeros((4, rows, columns))
    for part in range(4):
        u0, u1, v0, v1 = edges[part]
        if u1 > u0 and v1 > v0:
            across = pixel_share_array(np.arange(float(columns)), u0, u1, blur_u)
            images[part] = np.outer(pixel_share_array(np.arange(float(rows)), v0, v1, blur_v), across)
    return images


def window(edges, blur_u, blur_v, columns, rows):
    """Slices (rows, columns) of the pixels within four blurs of the whole rectangle, inside the frame."""
    u0, u1, v0, v1 = edges[4]
    across = slice(max(math.floor(u0 - 4 * blur_u), 0), max(min(math.ceil(u1 + 4 * blur_u), columns), 0))
    upright = slice(max(math.floor(v0 - 4 * blur_v), 0), max(min(math.ceil(v1 + 4 * blur_v), rows), 0))
    return upright, across


def more_than(p, wanted):
    """P(at least `wanted` of independent pixels pass), one pixel at a time."""
    chance = np.zeros(wanted)
    chance[0] = 1.0
    for each in p.ravel():
        chance[1:] = chance[1:] * (1.0 - each) + chance[:-1] * each
        chance[0] *= 1.0 - each
    return 1.0 - chance.sum()


def noise_sigma(columns, rows, focal_px, law, projection, n2, clutter2):
    """Noise of every pixel, (rows, columns), from the angle of its centre's ray."""
    v, u = np.mgrid[0:rows, 0:columns] + 0.5
    radius = np.hypot(u - 0.5 * columns, v - 0.5 * rows)
    if focal_px == 0.0:
        illumination = np.ones_like(radius)
    else:
        angle = np.arctan(radius / focal_px) if projection == RECTILINEAR else radius / focal_px
        illumination = np.maximum(np.maximum(np.cos(angle), 0.0) ** 4, 1e-6)
    return np.sqrt(n2 / illumination**2 + clutter2)


def kernel(edges, contrast, blur_u, blur_v, columns, rows, focal_px=0.0, law=0, projection=0, n2=1e-3, clutter2=0.0, k=5.0, n=3):
    frame = (columns, rows, 0.5 * columns, 0.5 * rows)
    return render.render_look(
        SCRATCH, edges, np.asarray(contrast, float), blur_u, blur_v, frame, focal_px, law, projection, n2, clutter2, k, n
    )


def reference(shares, edges, contrast, blur_u, blur_v, sigma, k, n):
    """(sum p |C|, sum |C| in view, pixels in view, P(at least n)) over the window."""
    part = window(edges, blur_u, blur_v, sigma.shape[1], sigma.shape[0])
    c = np.abs(np.tensordot(contrast, shares, axes=1))[part]
    seen = shares.sum(axis=0)[part] > 0.01
    p = ndtr(c / sigma[part] - k)
    return (p * c).sum(), c[seen].sum(), seen.sum(), more_than(p, n)


def cases(count, seed):
    """Random bodies: edges, contrasts, blurs; some cut by a shadow, some with parts of mixed signs, some half out of the
    frame."""
    random = np.random.default_rng(seed)
    for case in range(count):
        height = float(np.exp(random.uniform(np.log(1.5), np.log(60.0))))
        width = height * float(random.uniform(0.15, 0.6))
        edges = body_edges(*random.uniform(8.0, 20.0, 2), width, height, kind=case % 2)
        if case % 4 == 1:
            edges[:, 0:2] -= edges[4, 0] + random.uniform(0.2, 0.8) * width  # partly beyond the left edge
        if case % 4 == 2:
            edges[:4, 3] = np.minimum(
                edges[:4, 3], edges[4, 2] + random.uniform(0.2, 0.9) * height
            )  # what hides hides from below
        contrast = random.uniform(0.2, 2.0, 4) * (1.0 if case % 3 else random.choice([-1.0, 1.0], 4))
        yield edges, contrast, *random.uniform(0.4, 1.6, 2)


def drawn_image(edges, blur_u, blur_v, columns, rows):
    """The kernel's own picture of a body of contrast 1 in its window, from the shares that a look leaves in the scratch."""
    kernel(edges, np.ones(4), blur_u, blur_v, columns, rows)
    upright, across = window(edges, blur_u, blur_v, columns, rows)
    x = [SCRATCH[render.COLUMNS + part * render.SIDE :][: across.stop - across.start].astype(float) for part in range(4)]
    y = [SCRATCH[render.ROWS + part * render.SIDE :][: upright.stop - upright.start].astype(float) for part in range(4)]
    return np.einsum("pj,pi->ji", y, x)


def test_drawn_body_against_an_image_library():
    """Catches a shift by half a pixel, parts in the wrong place, a polynomial that is off, float32 that loses the edges of a
    body. Source: GalSim, four rectangles, random places, sizes from 1 to 60 px and unequal blurs. 1e-5 of the peak, the
    model's figure: float32 reaches it as long as the body is under 64 px."""
    random = np.random.default_rng(91)
    for case in range(60):
        height = float(np.exp(random.uniform(np.log(1.0), np.log(60.0))))
        edges = body_edges(*random.uniform(8.0, 20.0, 2), height * random.uniform(0.15, 0.5), height, case % 2)
        blur_u, blur_v = random.uniform(0.35, 1.8, 2)
        theirs = shares_by_image_library(edges, blur_u, blur_v, 72, 100).sum(axis=0)
        part = window(edges, blur_u, blur_v, 72, 100)
        assert drawn_image(edges, blur_u, blur_v, 72, 100) == pytest.approx(theirs[part], abs=1e-5 * theirs.max())


def test_large_and_tiny_bodies():
    """Catches float32 that loses the edges of a body that fills the frame, or a body far away. Source: the float64 formula.
    The node values are as large as the body divided by the blur, so that a share is known to a few units in their last place
    (6e-8 each)."""
    random = np.random.default_rng(95)
    for height in (0.2, 0.5, 120.0, 350.0, 700.0):
        edges = body_edges(*random.uniform(8.0, 20.0, 2), 0.4 * height, height)
        blur_u, blur_v = random.uniform(0.5, 0.9, 2)
        columns, rows = int(0.4 * height) + 40, int(height) + 40
        wanted = shares_by_formula(edges, blur_u, blur_v, columns, rows).sum(axis=0)
        part = window(edges, blur_u, blur_v, columns, rows)
        tolerance = 4.0 * 6e-8 * max(height, 8.0) * min(height, 1.0)
        assert drawn_image(edges, blur_u, blur_v, columns, rows) == pytest.approx(wanted[part], abs=tolerance)


def one_pixel_sum(edges, contrast, blur_u, blur_v, u, v):
    """|C| of one pixel, through a frame that is this pixel alone, everything passing."""
    moved = edges - np.array([u, u, v, v], dtype=float)
    return kernel(moved, contrast, blur_u, blur_v, 1, 1, n2=1e-30, k=0.0, n=1)[0]


def test_contrast_of_each_pixel_against_an_image_library():
    """Catches |C| of the parts for |C| of their sum, contrasts given to the wrong part. Source: GalSim, a body whose torso is
    cold; the kernel draws frames of one pixel. 1e-5 of the peak."""
    edges = body_edges(5.3, 4.8, 5.2, 13.7)
    contrast = np.array([1.7, 1.0, -0.8, 0.9])
    theirs = np.abs(np.tensordot(contrast, shares_by_image_library(edges, 0.55, 0.8, 16, 24), axes=1))
    found = np.array([[one_pixel_sum(edges, contrast, 0.55, 0.8, u, v) for u in range(16)] for v in range(24)])
    part = window(edges, 0.55, 0.8, 16, 24)
    assert found[part] == pytest.approx(theirs[part], abs=1e-5 * theirs.max())


def test_flux_is_conserved_at_any_phase_and_size():
    """Catches a share that is lost between pixels or blocks of rows. Conservation: with all parts alike in contrast and
    everything passing, the sum is the parts' area, whatever the phase, down to bodies smaller than a pixel. 1e-4: what lies
    beyond four blurs (6e-5 at most, a few times less for a box)."""
    random = np.random.default_rng(92)
    for size in np.exp(random.uniform(np.log(0.05), np.log(90.0), 120)):
        edges = body_edges(*random.uniform(14.0, 15.0, 2), size * random.uniform(0.2, 1.0), size)
        area = ((edges[:4, 1] - edges[:4, 0]) * (edges[:4, 3] - edges[:4, 2])).sum()
        blur_u, blur_v = random.uniform(0.35, 3.0, 2)
        found = kernel(edges, np.full(4, 0.8), blur_u, blur_v, 130, 130, n2=1e-30, k=0.0, n=1)
        assert found[0] == pytest.approx(0.8 * area, rel=1e-4)


@pytest.mark.parametrize("min_pixels", [1, 2, 3, 5])
def test_sums_of_a_look(min_pixels):
    """Catches a sum over the wrong pixels, |C| of parts for |C| of their sum, padding that counts, frames that do not cut,
    bodies cut by a shadow, noise that is its square. Source: GalSim's image in float64, one pixel at a time. 3e-5 relative: a
    few hundred float32 terms; P in absolute terms 2e-4: an error of 3e-7 in each of some hundred pixels, doubled."""
    for number, (edges, contrast, blur_u, blur_v) in enumerate(cases(40, 93)):
        columns, rows, k = 64, 80, (5.0, 3.5)[number % 2]
        n2, clutter2 = (0.042 * 1.1) ** 2, (0.0, 0.08**2)[number % 2]
        focal = (0.0, 90.0)[number // 2 % 2]
        found = kernel(edges, contrast, blur_u, blur_v, columns, rows, focal, 0, RECTILINEAR, n2, clutter2, k, min_pixels)
        shares = shares_by_image_library(edges, blur_u, blur_v, columns, rows)
        sigma = noise_sigma(columns, rows, focal, 0, RECTILINEAR, n2, clutter2)
        wanted = reference(shares, edges, contrast, blur_u, blur_v, sigma, k, min_pixels)
        assert found[4]
        assert found[0] == pytest.approx(wanted[0], rel=3e-5, abs=1e-5)
        borderline = np.abs(shares.sum(axis=0) - 0.01) < 1e-6
        if not borderline.any():
            assert found[2] == wanted[2]
            assert found[1] == pytest.approx(wanted[1], rel=3e-5, abs=1e-6)
        assert found[3] == pytest.approx(wanted[3], abs=2e-4)


@pytest.mark.parametrize("min_pixels", [1, 2, 3, 5])
def test_few_pixels_and_a_low_threshold(min_pixels):
    """Catches pixels that are counted but do not exist: at a low threshold pure noise passes now and then, and rows that only
    pad a block of sixteen must not. Source: exact Poisson-binomial over the window's own pixels. Frames with few rows, a faint
    body."""
    for k in (2.0, 2.5, 3.0):
        for rows in (5, 9, 14, 17):
            edges = body_edges(3.2, 1.1, 1.5, 2.6)
            contrast, n2 = np.full(4, 0.02), 0.04**2
            found = kernel(edges, contrast, 0.5, 0.5, 12, rows, n2=n2, k=k, n=min_pixels)
            shares = shares_by_formula(edges, 0.5, 0.5, 12, rows)
            sigma = noise_sigma(12, rows, 0.0, 0, RECTILINEAR, n2, 0.0)
            wanted = reference(shares, edges, contrast, 0.5, 0.5, sigma, k, min_pixels)
            assert found[3] == pytest.approx(wanted[3], abs=2e-4, rel=1e-3), (k, rows)


@pytest.mark.parametrize(
    ("law", "projection", "focal"),
    [(0, RECTILINEAR, 0.0), (0, RECTILINEAR, 95.0), (1, EQUIDISTANT, 80.0), (0, EQUIDISTANT, 0.0)],
    ids=["flat", "rectilinear cos4", "equidistant cos4", "equidistant flat"],
)
def test_noise_of_each_pixel(law, projection, focal):
    """Catches cos^4 applied to the variance, angles by the wrong projection, clutter that falls off with the lens, a frame
    centre off by half a pixel. Source: the angle of each pixel's ray. The chance to pass of single pixels all over the frame,
    with contrast near the threshold, is turned back into a noise: p = Phi(C / sigma - k)."""
    columns, rows, k = 160, 120, 2.0
    for n2, clutter2 in ((1.5e-3, 0.0), (1.5e-3, 4e-3), (1.5e-3 * 1.25, 1e-3)):
        sigma = noise_sigma(columns, rows, focal, law, projection, n2, clutter2)
        for u, v in ((0, 0), (159, 119), (80, 60), (79, 59), (10, 100), (140, 3), (80, 0)):
            contrast = 2.0 * sigma[v, u]
            # one part that covers this pixel and much more, seen through a frame that is this pixel alone
            edges = np.zeros((5, 4))
            edges[0] = edges[4] = u - 30.0, u + 30.0, v - 30.0, v + 30.0
            one = np.array([contrast, 0.0, 0.0, 0.0])
            moved = edges - np.array([u, u, v, v], dtype=float)
            frame = (1, 1, 0.5 * columns - u, 0.5 * rows - v)
            found = render.render_look(SCRATCH, moved, one, 0.5, 0.5, frame, focal, law, projection, n2, clutter2, k, 1)
            assert found[0] / contrast == pytest.approx(0.5, abs=2e-5), (u, v)  # 2e-5: float32, 1e-5 of sigma


def test_nothing_in_the_frame():
    """Catches windows of negative size. A body beyond each edge of the frame by more than four blurs is not drawn; by less, it
    is."""
    for du, dv in ((-40.0, 0.0), (40.0, 0.0), (0.0, -40.0), (0.0, 40.0)):
        edges = body_edges(16.0 + du, 16.0 + dv, 2.0, 5.0)
        assert kernel(edges, np.ones(4), 0.5, 0.5, 32, 32) == (0.0, 0.0, 0.0, 0.0, False)
    edges = body_edges(33.0, 16.0, 2.0, 5.0)
    found = kernel(edges, np.ones(4), 0.5, 0.5, 32, 32)
    assert found[4]
    assert found[2] == 0.0


def test_limits():
    """Catches constants in the wrong place. No noise: every pixel with contrast passes. A threshold beyond reach, or no contrast:
    none does, however many pixels (1e-6)."""
    edges = body_edges(8.2, 5.1, 6.0, 18.0)
    loud = kernel(edges, np.full(4, 0.5), 0.5, 0.5, 40, 40, n2=1e-16, k=5.0, n=5)
    assert loud[3] == 1.0
    assert loud[0] == pytest.approx(0.5 * ((edges[:4, 1] - edges[:4, 0]) * (edges[:4, 3] - edges[:4, 2])).sum(), rel=1e-4)
    unheard = kernel(edges, np.full(4, 0.5), 0.5, 0.5, 40, 40, n2=1e-3, k=100.0, n=1)
    assert unheard[3] < 1e-6
    assert unheard[0] < 1e-6
    blank = kernel(edges, np.zeros(4), 0.5, 0.5, 40, 40, n2=1e-3, k=7.0, n=1)
    assert blank[0] == 0.0
    assert blank[3] < 1e-6
    assert blank[2] == loud[2]  # in view is a matter of share, not of contrast


def test_many_required_pixels():
    """Catches lane polynomials that run over the next array. min_pixels at its limit of 64, against exact sums."""
    edges = body_edges(8.0, 5.0, 9.0, 24.0)
    contrast, n2 = np.full(4, 0.2), 0.04**2
    sigma = noise_sigma(40, 40, 0.0, 0, RECTILINEAR, n2, 0.0)
    shares = shares_by_formula(edges, 0.5, 0.5, 40, 40)
    for n in (16, 17, 63, 64):
        found = kernel(edges, contrast, 0.5, 0.5, 40, 40, n2=n2, k=5.0, n=n)
        wanted = reference(shares, edges, contrast, 0.5, 0.5, sigma, 5.0, n)
        assert found[3] == pytest.approx(wanted[3], abs=2e-4)
        assert found[0] == pytest.approx(wanted[0], rel=3e-5)
