"""Ground in view against polygons: the frame's outline on a level plane, cut with the yard by a plane-geometry library."""

import math

import pytest
import shapely

from fencecast.camera import camera_geometry
from fencecast.review.asked import Asked
from fencecast.review.cover import cover
from fencecast.review.land import reach_m
from review.pairs import GARDEN, ring
from review.yards import base, found


def outline(site, mark, z_m, reach):
    """What a camera has in its frame at a height, to a range: a polygon from many points of the frame's edge."""
    view = camera_geometry(site, next(c for c in site.camera if c.mark == mark))
    u, v = 0.5 * view.columns, 0.5 * view.rows
    steps = [k / 200 * 2 - 1 for k in range(201)]
    edge = [(u * s, v) for s in steps] + [(u, -v * s) for s in steps]
    edge += [(-a, -b) for a, b in edge]
    corners = [view.ground_point(a, b, z_m) for a, b in edge]
    assert all(corners)
    return shapely.Polygon(corners).intersection(shapely.Point(view.x_m, view.y_m).buffer(reach, 256))


def test_overspill_is_the_frame_outside_the_yard():
    """Catches: rays that widen without their area, ground below the frame that is counted. A waist is at 1.0 m, and the frame's
    upper edge, 3.4 degrees down, meets it at 51 m, before the 50 % range of 84 m. Without a barrier: a mesh that is looked along
    flat hides what is behind it."""
    site = base(sections=ring(-6, 36, barrier="none"))
    yard = shapely.Polygon([(-6, 0), (36, 0), (36, 20), (-6, 20)])
    asked = Asked(site, cover(site))
    outside = [outline(site, mark, 1.0, reach_m(asked, eye)).difference(yard).area for mark, eye in zip("AB", asked.cover.eyes)]
    finding = found(site, "overspill")[0]
    assert reach_m(asked, asked.cover.eyes[0]) == pytest.approx(83.7, abs=0.1)
    assert finding.value == pytest.approx(max(outside), rel=0.02)
    assert found(base(sections=ring(-6, 36)), "overspill")[0].value < 0.9 * finding.value


def test_land_in_view_is_the_frame_on_it():
    """Catches: land that is counted for each camera that sees it, a waist that stands for the ground."""
    site = base(land=[GARDEN])
    garden = shapely.Polygon(GARDEN["points_m"])
    views = shapely.union_all([outline(site, mark, 0.0, 80.0) for mark in "AB"])
    assert found(site, "land-in-view")[0].value == pytest.approx(garden.intersection(views).area, abs=0.4)
    assert math.isclose(garden.area, 16.0)
