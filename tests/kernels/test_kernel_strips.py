"""Bodies behind fences: the strips that fences cut, and the pixel loop over them, against plain float64 drawing."""

from __future__ import annotations

import math

import numpy as np
import pytest
from kernel_sites import CAMERA, FENCE, NIGHT, make_site
from scipy.special import ndtr
from test_kernel_look import air_of, plan_of, pose_of, radiances_of
from test_kernel_render import SCRATCH, cases, kernel, more_than, noise_sigma, window

from fencecast.kernels import look, sight
from fencecast.kernels import pose as pose_room
from fencecast.kernels.look import CYCLES, CYCLES_PERFECT, LOOK_RESULTS, P_LOOK, PIXELS_IN_VIEW, SEEN_SHARE, STRIPS
from fencecast.kernels.pack import pack_plan, pack_scene
from fencecast.kernels.strips import render_strips
from fencecast.kernels.types import Body, Motion
from fencecast.kernels.work import make_work
from fencecast.physics import body
from fencecast.physics.detector import pixel_share_array

COLUMNS, ROWS = 64, 64


def strips_at(edges, cuts, passed):
    """Strips from the bottom of a rectangle up, cut at shares of its height: (5, 3)."""
    strips = np.zeros((5, 3))
    ends = [0.0, *cuts, 1.0]
    for m, share in enumerate(passed):
        low, high = edges[4, 3] - np.array(ends[m : m + 2]) * (edges[4, 3] - edges[4, 2])
        strips[m] = high, low, share
    return strips


def drawn(edges, strips, count, blur_u, blur_v, columns=COLUMNS, rows=ROWS):
    """Share of each pixel that each part covers in each strip, (strips, 4, rows, columns), in float64."""
    images = np.zeros((count, 4, rows, columns))
    for m in range(count):
        for part in range(4):
            low, high = max(edges[part, 2], strips[m, 0]), min(edges[part, 3], strips[m, 1])
            if high > low:
                across = pixel_share_array(np.arange(float(columns)), *edges[part, :2], blur_u)
                images[m, part] = np.outer(pixel_share_array(np.arange(float(rows)), low, high, blur_v), across)
    return images


def by_hand(images, passed, contrast, sigma, k, n, asked):
    """What `render_strips` returns, written down from the model: see the head of that file."""
    own = np.einsum("p,mpji->mji", contrast, images)[:, *asked]
    share = images.sum(axis=1)[:, *asked]
    f = np.asarray(passed)[:, None, None]
    arriving, seen = np.abs((f * own).sum(axis=0)), (f * share).sum(axis=0)
    chance = ndtr(arriving / sigma[asked] - k)
    alone = ndtr(np.minimum(arriving, f * np.maximum(np.abs(own.sum(axis=0)), arriving)) / sigma[asked] - k)
    shown = np.minimum(seen, f * share.sum(axis=0)) > 0.01
    return (
        np.abs((alone * own).sum(axis=0)).sum(),
        np.abs((shown * own).sum(axis=0)).sum(),
        (seen > 0.01).sum(),
        more_than(chance, n),
    )


@pytest.mark.parametrize(("n", "law", "projection"), [(3, 0, 0), (1, 0, 0), (5, 1, 1)])
def test_strips_against_a_drawing_in_float64(n, law, projection):
    """Catches strips in the wrong order, shares of the wrong strip, |C| of strips for |C| of their sum, a threshold asked of what
    the body would show, rows past the body that count. Source: float64, every pixel by the model's words. 3e-4: float32, and one
    pixel in a thousand that float32 puts on the other side of 1 %."""
    random = np.random.default_rng(7)
    unsure = 0
    for case, (edges, contrast, blur_u, blur_v) in enumerate(cases(200, 8)):
        count = 2 + case % 3
        cuts = np.sort(random.uniform(0.05, 0.95, count - 1))
        passed = random.choice([0.0, 0.05, 0.2, 0.6, 0.85, 1.0], count)
        strips = strips_at(edges, cuts, passed)
        n2, clutter2, focal = float(np.exp(random.uniform(-7.0, -2.0))), 1e-3, 90.0
        frame = (COLUMNS, ROWS, 0.5 * COLUMNS, 0.5 * ROWS)
        found = render_strips(
            SCRATCH, edges, contrast, strips, count, blur_u, blur_v, frame, focal, law, projection, n2, clutter2, 5.0, n
        )
        sigma = noise_sigma(COLUMNS, ROWS, focal, law, projection, n2, clutter2)
        images = drawn(edges, strips, count, blur_u, blur_v)
        wanted = by_hand(images, passed, contrast, sigma, 5.0, n, window(edges, blur_u, blur_v, COLUMNS, ROWS))
        whole = np.abs(np.einsum("p,mpji->ji", contrast, images)).sum()
        assert found[4]
        assert found[0] == pytest.approx(wanted[0], abs=3e-4 * whole), case
        assert found[1] == pytest.approx(wanted[1], abs=3e-3 * whole), case
        assert abs(found[2] - wanted[2]) <= 1, case
        assert found[3] == pytest.approx(wanted[3], abs=3e-4), case
        unsure += 0.01 < wanted[3] < 0.99
    assert unsure > 5


def test_strips_that_pass_alike_are_one_fence():
    """Catches two loops that part. Limit: three strips of equal share are one fence before all of the body, which is drawn by the
    plain loop with noise and the share in view divided by it; a strip that passes nothing is cut away."""
    for edges, contrast, blur_u, blur_v in cases(40, 9):
        for share in (1.0, 0.85, 0.3):
            strips, frame = strips_at(edges, (0.3, 0.55), (share,) * 3), (COLUMNS, ROWS, 32.0, 32.0)
            found = render_strips(SCRATCH, edges, contrast, strips, 3, blur_u, blur_v, frame, 0.0, 0, 0, 1e-3, 1e-3, 5.0, 3)
            one = look.render_look(
                SCRATCH, edges, contrast, blur_u, blur_v, frame, 0.0, 0, 0, 1e-3 / share**2, 1e-3 / share**2, 5.0, 3,
                np.float32(0.01 / share),
            )  # fmt: skip
            assert found[:2] == pytest.approx(one[:2], rel=2e-3, abs=1e-4)  # a pixel at 1 % may fall on either side
            assert found[3] == pytest.approx(one[3], abs=1e-4)
        strips, cut = strips_at(edges, (0.4,), (0.0, 1.0)), edges.copy()
        cut[:4, 3] = np.minimum(cut[:4, 3], strips[1, 1])
        found = render_strips(SCRATCH, edges, contrast, strips, 2, blur_u, blur_v, frame, 0.0, 0, 0, 1e-3, 0.0, 5.0, 3)
        walled = kernel(cut, contrast, blur_u, blur_v, COLUMNS, ROWS)
        assert found[0] == pytest.approx(walled[0], rel=1e-4, abs=1e-4)
        assert found[1] == pytest.approx(walled[1], rel=2e-3, abs=1e-4)
        assert found[3] == pytest.approx(walled[3], abs=1e-4)


def test_strips_by_hand():
    """Catches a top projected the wrong way, strips from the head down, a fence behind the body. By hand: from 4 m, a fence of
    1.5 m at 0.8 and one of 2 m at half of the way show their tops at 4 - 2.5 / 0.8 = 0.875 m and at 4 - 2 / 0.5 = 0 m; the second
    hides nothing. From 2.5 m: 1.25 m and 1.5 m."""
    near = {**FENCE, "name": "near", "points_m": [[-40.0, 10.0], [40.0, 10.0]], "barrier": "palisade", "barrier_height_m": 2.0}
    far = {**FENCE, "name": "far", "points_m": [[-40.0, 16.0], [40.0, 16.0]], "barrier": "mesh", "barrier_height_m": 1.5}
    behind = {**FENCE, "name": "behind", "points_m": [[-40.0, 21.0], [40.0, 21.0]], "barrier": "mesh", "barrier_height_m": 1.5}
    scene = pack_scene(make_site(perimeter=[near, far, behind], rule=[{"kind": "line", "perimeter": "near"}]))
    work = make_work(1, 1, 1, 4, 24, 8)
    assert sight.cut_at_fences(scene, 0.0, 0.0, 4.0, 0.0, 20.0, 0.0, 1.75, 100.0, 65.0, work) == 2
    assert work.strips[:2] == pytest.approx(np.array([[82.5, 100.0, 0.85], [65.0, 82.5, 1.0]]))
    assert sight.cut_at_fences(scene, 0.0, 0.0, 2.5, 0.0, 20.0, 0.0, 1.75, 100.0, 65.0, work) == 3
    assert work.strips[:3] == pytest.approx(np.array([[75.0, 100.0, 0.51], [70.0, 75.0, 0.6], [65.0, 70.0, 1.0]]))
    # Feet up in the picture, as behind the foot of a camera that looks steeply down: rows grow from the feet to the head.
    assert sight.cut_at_fences(scene, 0.0, 0.0, 4.0, 0.0, 20.0, 0.0, 1.75, 65.0, 100.0, work) == 2
    assert work.strips[:2] == pytest.approx(np.array([[65.0, 82.5, 0.85], [82.5, 100.0, 1.0]]))
    assert sight.cut_at_fences(scene, 0.0, 0.0, 4.0, 0.0, 9.0, 0.0, 1.75, 100.0, 65.0, work) == 0


@pytest.mark.parametrize(("barrier", "share", "height_m"), [("palisade", 0.2, 1.4), ("palisade", 0.0, 1.4), ("mesh", 0.6, 2.4)])
def test_a_look_behind_a_fence_drawn_by_hand(barrier, share, height_m):
    """Catches a look that counts what a fence has left, that lets pass what it hides, that cuts the body elsewhere than at the
    fence's top, a whole body that is weakened too. Source: the body drawn in NumPy from its rectangle and its contrasts, cut at
    the height at which the fence's top shows by similar triangles."""
    fence = {**FENCE, "points_m": [[-90.0, 15.0], [90.0, 15.0]], "barrier": barrier, "barrier_open_share": share}
    fence["barrier_height_m"] = height_m
    camera = {**CAMERA, "aim_m": None, "bearing_deg": 0.0, "depression_deg": 14.0, "position_m": [0.0, 0.0], "height_m": 4.0}
    del camera["aim_m"]
    plan = pack_plan(make_site(camera=[camera], perimeter=[fence]))
    work = make_work(1, 1, 1, 4, 24, 8)
    y, noise, size = 17.0, 0.12, 1.7
    walker = Body(Motion(0.7, y, 0.0, 1.0, 0.0, 0.0, 0.0, 0.0, body.STAND), size, 0.51, 0.27)
    radiance, air = radiances_of(39.0, 37.5, 40.2, 41.9, 0.62), air_of(window=1.0)
    optics = pose_room.optics_of(plan.cameras, 0)
    assert look.look_at_body(plan, optics, pose_of(plan), walker, air, radiance, noise, work)
    result, edges, contrast = work.look, work.edges, work.contrast
    top = 4.0 + (height_m - 4.0) * y / 15.0
    cosine = y / math.hypot(0.7, y)
    passes = max(1.0 - (1.0 - share) / cosine, 0.0)
    row = edges[4, 3] - top / size * (edges[4, 3] - edges[4, 2])
    columns, rows = int(plan.cameras.columns[0]), int(plan.cameras.rows[0])
    strips = np.array([[max(row, edges[4, 2]), edges[4, 3], passes], [edges[4, 2], max(row, edges[4, 2]), 1.0]])
    blur = result[look.BLUR_U], result[look.BLUR_V]
    images = drawn(edges, strips, 2, *blur, columns, rows)
    n2 = noise**2 * (1.0 + optics.fixed_pattern**2)
    focal = optics.illumination_focal_px
    sigma = noise_sigma(columns, rows, focal, optics.noise_law, optics.projection, n2, result[look.CLUTTER] ** 2)
    wanted = by_hand(images, strips[:, 2], contrast, sigma, 5.0, 3, window(edges, *blur, columns, rows))
    whole = (np.abs(contrast) * (edges[:4, 1] - edges[:4, 0]) * (edges[:4, 3] - edges[:4, 2])).sum()
    assert (contrast > 0.0).all()
    assert result[STRIPS] == (2 if height_m < 2.0 else 1)
    assert result[SEEN_SHARE] == pytest.approx(wanted[0] / whole, abs=3e-4)
    assert result[CYCLES] == pytest.approx(0.5 * math.sqrt(result[look.AREA_PX] * wanted[0] / whole), rel=1e-3)
    assert result[CYCLES_PERFECT] == pytest.approx(0.5 * math.sqrt(result[look.AREA_PX] * wanted[1] / whole), rel=1e-3)
    assert abs(result[PIXELS_IN_VIEW] - wanted[2]) <= 1
    assert result[P_LOOK] == pytest.approx(wanted[3], abs=3e-4)
    if share == 0.2:  # most of the body is behind slats that let too little through
        assert 0.05 < result[SEEN_SHARE] < 0.6


def test_a_body_that_nothing_of_arrives_from():
    """Catches a division by a share of 0. Limit: square behind a closed palisade there is nothing to count, and the look is still
    one at a body in the frame."""
    fence = {**FENCE, "points_m": [[-90.0, 15.0], [90.0, 15.0]], "barrier": "palisade", "barrier_open_share": 0.0}
    plan = plan_of(
        perimeter=[{**fence, "barrier_height_m": 3.0}], rule=[{"kind": "line", "perimeter": FENCE["name"]}], weather=[NIGHT]
    )
    work = make_work(1, 1, 1, 4, 24, 8)
    x, y = 20.0 * math.sin(math.radians(20.0)), 2.0 + 20.0 * math.cos(math.radians(20.0))
    walker = Body(Motion(x, y, 0.0, 1.0, 0.0, 0.0, 0.0, 0.0, body.STAND), 1.7, 0.51, 0.27)
    radiance = radiances_of(39.0, 37.5, 40.2, 41.9, 0.62)
    assert look.look_at_body(plan, pose_room.optics_of(plan.cameras, 0), pose_of(plan), walker, air_of(), radiance, 0.1, work)
    assert work.look.shape == (LOOK_RESULTS,)
    assert work.look[[SEEN_SHARE, CYCLES, CYCLES_PERFECT, P_LOOK, PIXELS_IN_VIEW]].max() == 0.0
