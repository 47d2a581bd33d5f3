"""The body's box and silhouette against plane geometry and the model's table."""

from __future__ import annotations

import math

import numpy as np
import pytest
import shapely
from shapely.affinity import rotate

from fencecast.physics import body


def test_box_seen_along_the_line_of_sight_against_plane_geometry():
    """Catches breadth and depth swapped, a signed sine, sine and cosine swapped. Source: shapely: the box turned by its heading,
    its extents across and along a line of sight that runs north. 1e-12 is rounding."""
    random = np.random.default_rng(21)
    for psi in random.uniform(-7.0, 7.0, 200):
        breadth, depth = random.uniform(0.1, 2.0, 2)
        # heading north: breadth lies east-west
        seen = rotate(shapely.box(-0.5 * breadth, -0.5 * depth, 0.5 * breadth, 0.5 * depth), psi, use_radians=True)
        west, south, east, north = seen.bounds
        width, thickness = body.box_extents_m(breadth, depth, math.cos(psi), math.sin(psi))
        assert (width, thickness) == pytest.approx((east - west, north - south), rel=1e-12)


@pytest.mark.parametrize(
    ("gait", "height", "breadth", "depth"),
    [
        (body.WALK, 1.80, 0.54, 0.504),
        (body.RUN, 1.80, 0.54, 0.72),
        (body.CROUCH, 1.17, 0.54, 0.45),
        (body.CRAWL, 0.5, 0.54, 1.2),
        (body.FLAT_CRAWL, 0.3, 0.54, 1.7),
        (body.STAND, 1.80, 0.54, 0.288),
    ],
)
def test_sizes_by_hand(gait, height, breadth, depth):
    """Catches a row or a column of the table that slipped. Source: the model's table worked out for a stature of 1.80 m."""
    assert body.body_size_m(gait, 1.80, math.nan) == pytest.approx((height, breadth, depth), rel=1e-12)


def test_depth_of_the_site_file_replaces_upright_gaits_only():
    """Catches a depth that stretches crawlers or a man standing on a fence. Source: the site file's `depth_ratio`."""
    for gait in range(6):
        height, breadth, depth = body.body_size_m(gait, 1.7, 0.35)
        plain = body.body_size_m(gait, 1.7, math.nan)
        assert (height, breadth) == plain[:2]
        assert depth == pytest.approx(0.35 * 1.7 if gait in (body.WALK, body.RUN, body.CROUCH) else plain[2], rel=1e-12)


def test_speeds_and_mix_by_hand():
    """Catches a slipped row. Source: the model's table (mean, sd, lowest; shares of the default mix)."""
    assert body.GAITS == ("walk", "run", "crouch", "crawl", "flat crawl")
    wanted = [[1.3, 0.25, 0.3], [4.5, 1.0, 1.5], [0.8, 0.2, 0.2], [0.8, 0.15, 0.2], [0.3, 0.08, 0.1]]
    assert np.array(wanted).tolist() == body.GAIT_SPEEDS.tolist()
    assert body.GAIT_SHARES.tolist() == [0.45, 0.2, 0.2, 0.1, 0.05]
    assert body.GAIT_SHARES.sum() == pytest.approx(1.0, abs=1e-15)


def test_silhouettes_are_four_rectangles_without_overlap():
    """Catches overlapping parts (contrast counted twice), gaps where bodies have none, a wrong fill. Source: shapely on the
    model's numbers; the upright figure fills 0.70 of its rectangle, says the model (0.005 is its rounding)."""
    for kind in range(len(body.SILHOUETTES)):
        parts = [shapely.box(x0, y0, x1, y1) for x0, x1, y0, y1 in body.SILHOUETTES[kind]]
        union = shapely.union_all(parts)
        assert union.area == pytest.approx(sum(p.area for p in parts), abs=1e-12)
        assert union.geom_type == "Polygon"  # in one piece
        assert shapely.box(0.0, 0.0, 1.0, 1.0).covers(union)
        assert union.bounds[1::2] == (0.0, 1.0)  # it reaches from top to bottom
    upright = [shapely.box(x0, y0, x1, y1) for x0, x1, y0, y1 in body.SILHOUETTES[body.UPRIGHT]]
    assert shapely.union_all(upright).area == pytest.approx(0.70, abs=0.005)
    # mirror symmetry of the upright figure, and a crawler whose head comes first
    assert body.SILHOUETTES[body.UPRIGHT][:, 0] + body.SILHOUETTES[body.UPRIGHT][:, 1] == pytest.approx(np.ones(4))
    assert np.all(np.diff(body.SILHOUETTES[body.CRAWLING][:, 0]) > 0.0)
    # wings on both sides alike
    assert body.SILHOUETTES[body.WINGED, 2:, 0] == pytest.approx(1.0 - body.SILHOUETTES[body.WINGED, :1:-1, 1])


def test_silhouettes_by_hand():
    """Catches a number mistyped. Source: the model's list, in hundredths: x from, x to, y from the top, y to, head first."""
    upright = [[33, 67, 0, 13], [6, 94, 13, 53], [14, 86, 53, 76], [22, 78, 76, 100]]
    crawling = [[0, 16, 10, 70], [16, 58, 0, 85], [58, 80, 20, 100], [80, 100, 55, 100]]
    four_legged = [[0, 20, 0, 40], [20, 95, 15, 65], [20, 36, 65, 100], [76, 92, 65, 100]]
    assert (100.0 * body.SILHOUETTES[:3]).round(9).tolist() == [upright, crawling, four_legged]


def test_kind_of_silhouette():
    """Catches a crawler drawn upright, a climber drawn crawling, a fox drawn as a person. Source: the model, section 5."""
    kinds = [body.silhouette_kind(g) for g in (body.WALK, body.RUN, body.CROUCH, body.STAND, body.CRAWL, body.FLAT_CRAWL)]
    assert kinds == [body.UPRIGHT] * 4 + [body.CRAWLING] * 2
    others = [body.silhouette_kind(g) for g in (body.FOUR_LEGGED, body.FLYING, body.VEHICLE)]
    assert others == [body.QUADRUPED, body.WINGED, body.MOTOR]


def test_every_silhouette_says_what_its_parts_are_and_which_end_leads():
    """Catches a person who shows legs of a colder surface, a table that is shorter than another, a warm bonnet at the tail.
    Source: the model: only crawlers, four-legged bodies and vehicles lead with an end; a person shows head and clothing alone."""
    assert len(body.SILHOUETTES) == len(body.HEAD_LEADS) == len(body.PART_SURFACE)
    assert body.SILHOUETTE_OF.max() == len(body.SILHOUETTES) - 1
    assert np.flatnonzero(body.HEAD_LEADS).tolist() == [body.CRAWLING, body.QUADRUPED, body.MOTOR]
    for kind in (body.UPRIGHT, body.CRAWLING):
        assert body.PART_SURFACE[kind].tolist() == [body.FACE, body.COVER, body.COVER, body.COVER]
    for kind in np.flatnonzero(body.HEAD_LEADS):
        assert body.SILHOUETTES[kind, 0, 0] == 0.0  # what leads is the first part, at the left
    legs = body.PART_SURFACE == body.LIMBS
    assert legs[body.QUADRUPED].tolist() == [False, False, True, True]
    assert legs[body.MOTOR].tolist() == [True, False, False, True]
    assert not legs[body.WINGED].any()
