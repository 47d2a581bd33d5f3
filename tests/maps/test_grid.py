"""The grid of [map] against values computed by hand from geodesy's own formulas, and against geographiclib's geodesics."""

from __future__ import annotations

import numpy as np
import pytest

from fencecast.maps.grid import Grid, default_origin, distance_m, from_system, place_words

LAT, LON = 54.07, 6.41
# (longitude, latitude): east and north of the origin [m], by the design's own computation in another projection library's terms.
PLACES = {
    (6.42, 54.07): (654.6571, 0.0463),
    (6.41, 54.08): (0.0, 1113.0640),
    (6.42, 54.08): (654.4998, 1113.1103),
}
TURNED = {(6.42, 54.07): (566.9266, 327.3686), (6.41, 54.08): (-556.5320, 963.9417), (6.42, 54.08): (10.2583, 1291.2317)}


@pytest.mark.parametrize(("north", "places"), [(0.0, PLACES), (30.0, TURNED)])
def test_places_on_the_grid(north, places):
    """Catches swapped coordinates, a turn the wrong way round, a sphere for the ellipsoid (0.2 % long)."""
    grid = Grid(LAT, LON, north)
    for lonlat, xy in places.items():
        assert grid.to_site(np.array(lonlat))[0] == pytest.approx(xy, abs=6e-5)
        assert grid.to_map(np.array(xy))[0] == pytest.approx(lonlat, abs=2e-9)


def test_lengths_at_elevation():
    """Catches an elevation that is left out, or applied the wrong way: 7.8 mm in 100 m at 500 m (1 + h / R)."""
    assert Grid(LAT, LON, 0.0, 500.0).to_site(np.array([6.42, 54.07]))[0] == pytest.approx((654.7085, 0.0463), abs=6e-5)


def test_across_the_180th_meridian():
    """Catches longitudes that jump by 360 degrees: 0.001 degrees at 17 S are 106.4858 m."""
    grid = Grid(-17.0, 179.9995)
    assert grid.to_site(np.array([-179.9995, -17.0]))[0, 0] == pytest.approx(106.4858, abs=6e-5)
    assert grid.to_map(np.array([106.4858, 0.0]))[0, 0] == pytest.approx(-179.9995, abs=1e-8)


@pytest.mark.parametrize("lat", [0.0, -34.0, 54.0, 70.0, 84.0])
def test_lengths_are_geodesic_lengths(lat):
    """Lines of 100 m within 2 km are off by at most 0.005 mm (geographiclib): catches UTM's scale (48 mm) and web Mercator."""
    from geographiclib.geodesic import Geodesic

    grid = Grid(lat, 8.0)
    random = np.random.default_rng(3)
    worst = 0.0
    for _ in range(30):
        start = grid.to_map(random.uniform(-1400.0, 1400.0, 2))[0]
        line = Geodesic.WGS84.Direct(start[1], start[0], random.uniform(0.0, 360.0), 100.0)
        ends = grid.to_site(np.array([start, (line["lon2"], line["lat2"])]))
        worst = max(worst, abs(float(np.hypot(*(ends[1] - ends[0]))) - 100.0))
    assert worst < 0.5e-5 + 100.0 * 0.5 * (2000.0 / 6.36e6) ** 2  # rounding, and the projection's own second-order term


def test_bearings_are_from_true_north():
    """Catches a grid whose +y is not `grid_north_deg` clockwise from true north (geographiclib's azimuth)."""
    from geographiclib.geodesic import Geodesic

    place = Grid(LAT, LON, 37.5).to_map(np.array([0.0, 100.0]))[0]
    azimuth = Geodesic.WGS84.Inverse(LAT, LON, place[1], place[0])["azi1"]
    assert azimuth == pytest.approx(37.5, abs=1e-3)
    assert Grid(LAT, LON, 37.5).bearing_to_site(azimuth) == pytest.approx(0.0, abs=1e-3)


def test_there_and_back_on_five_grids():
    """Within 1e-8 m: catches an inverse that is not one."""
    xy = np.random.default_rng(1).uniform(-2000.0, 2000.0, (200, 2))
    for grid in (
        Grid(54.07, 6.41),
        Grid(54.07, 6.41, 37.5),
        Grid(-41.3, 179.9999),
        Grid(69.0, 18.0, 200.0, 900.0),
        Grid(0.0, 0.0),
    ):
        assert np.abs(grid.to_site(grid.to_map(xy)) - xy).max() < 1e-5


def test_default_origin_is_rounded_down():
    """Catches an origin that lies inside the drawing, and one that rounding error moves by a step."""
    assert default_origin(np.array([[6.41059, 54.07123], [6.42, 54.08]])) == (54.0712, 6.4105)
    assert default_origin(np.array([[6.41, 54.07]])) == (54.07, 6.41)
    assert default_origin(np.array([[-0.00001, -0.00001]])) == (-0.0001, -0.0001)


def test_other_systems():
    """Catches axes in the order of the register (northing first), and `EPSG::32632` read as EPSG 2."""
    for name in ("EPSG:32632", "urn:ogc:def:crs:EPSG::32632", "urn:ogc:def:crs:EPSG:6.9:32632"):
        lon, lat = from_system(name, np.array([[500_000.0, 5_991_000.0]]))[0]
        assert lon == pytest.approx(9.0, abs=1e-9)
        assert 54.0 < lat < 54.1


def test_place_in_words():
    assert place_words(LAT + 0.0, LON) == "54°04′12.0″ N, 6°24′36.0″ E, UTM zone 32N, sun highest at 11.6 h UTC"
    assert place_words(-41.5, -179.99).startswith("41°30′00.0″ S, 179°59′24.0″ W, UTM zone 1S")
    assert place_words(59.99999, 0.0).startswith("60°00′00.0″ N")


def test_distance():
    """A degree of latitude on a sphere of 6,371 km is 111.195 km."""
    assert distance_m((0.0, 0.0), (1.0, 0.0)) == pytest.approx(111_195.0, abs=1.0)
