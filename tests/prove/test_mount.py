"""Mount and places beside the fence, by hand and with what `fencecast ranges` says."""

import math

import pytest

import fencecast as fc
from fencecast.prove.lookedalong import looked_along
from fencecast.prove.mount import mount_of
from fencecast.site.fenceplaces import nearest_place, place_on
from prove.aimyards import camera, hostile, ring, yard

DEMO = "configs/estuary-yard.toml"


@pytest.fixture(scope="module")
def demo(request):
    return fc.load_site(request.config.rootpath / DEMO)


def test_the_demo_s_first_mount_by_hand(demo):
    """T1: mast (0.8, 1.2), aim (21.0, 1.6), 4 m: one right triangle in plan, one upright."""
    mount = mount_of(demo, demo.camera[0])
    reach = math.hypot(20.2, 0.4)
    assert (mount.stands.section, mount.stands.chainage_m, mount.stands.inside_m) == (0, pytest.approx(0.8), pytest.approx(1.2))
    assert mount.bearing_deg == pytest.approx(90.0 - math.degrees(math.atan2(0.4, 20.2)))
    assert mount.inwards_deg == pytest.approx(math.degrees(math.atan2(0.4, 20.2)))
    assert mount.depression_deg == pytest.approx(math.degrees(math.atan2(4.0, reach)))
    assert mount.axis_m == (pytest.approx(21.0), pytest.approx(1.6)) and mount.axis_from_m == pytest.approx(reach)
    assert (mount.axis.chainage_m, mount.axis.inside_m) == (pytest.approx(21.0), pytest.approx(1.6))
    half = math.atan(60.0 / (6000.0 / 17.0))
    assert mount.feet_from_m == pytest.approx(4.0 / math.tan(math.atan2(4.0, reach) + half))
    assert mount.horizon_row == pytest.approx(60.0 - 6000.0 / 17.0 * 4.0 / reach, abs=1e-4)
    assert mount.horizon_above_deg == pytest.approx(math.degrees(math.atan2(4.0, reach) - half))
    assert (mount.tolerance_px, mount.tolerance_given, mount.height_tolerance_m) == ((3, 3), True, 0.05)
    assert mount.px_per_deg == pytest.approx(6000.0 / 17.0 * math.pi / 180.0)


def test_ranges_agree(demo):
    """Catches: a second formula for field or blind ground."""
    for site in (demo, hostile()):
        for each, told in zip(site.camera, fc.ranges(site)["cameras"]):
            mount = mount_of(site, each)
            assert mount.horizontal_field_deg == told["horizontal_field_deg"]
            assert mount.vertical_field_deg == told["vertical_field_deg"]
            feet = {None: 0.0, "undefined": None}.get(told["blind_m"]["feet"], told["blind_m"]["feet"])
            assert mount.feet_from_m == feet, each.mark


@pytest.mark.parametrize(
    ("position", "expected"),
    [
        ((10.0, 3.0), (10.0, 3.0, 3.0)),
        ((10.0, -2.0), (10.0, -2.0, 2.0)),
        ((-2.0, 1.2), (-2.0, 1.2, math.hypot(2.0, 1.2))),
        ((50.5, 1.0), (50.5, 1.0, math.hypot(2.5, 1.0))),
        ((10.0, 0.0), (10.0, 0.0, 0.0)),
    ],
)
def test_a_place_beside_a_straight_fence(position, expected):
    """Past its ends the fence line goes on straight, and the distance is to its end."""
    place = place_on(yard([camera()]), 0, *position)
    assert (place.chainage_m, place.inside_m, place.distance_m) == tuple(pytest.approx(value) for value in expected)


def test_a_place_beside_a_ring_that_runs_clockwise():
    site = ring([camera()])
    assert (place := place_on(site, 0, 1.0, 5.0)).chainage_m == pytest.approx(5.0) and place.inside_m == pytest.approx(1.0)
    place = place_on(site, 0, 20.0, 28.0)
    assert (place.chainage_m, place.inside_m) == (pytest.approx(50.0), pytest.approx(2.0))
    outside = place_on(site, 0, -3.0, -4.0)  # beyond a corner: the distance to it
    assert (outside.inside_m, outside.distance_m) == (pytest.approx(-5.0), pytest.approx(5.0))


def test_at_a_corner_the_section_that_is_looked_along_counts(demo):
    """T3 and T4 stand on one mast at a corner; T3 looks down the east fence, T4 along the north fence."""
    from fencecast.camera import camera_geometry

    found = [looked_along(demo, camera_geometry(demo, each)).section for each in demo.camera]
    assert found == [0, 0, 1, 2, 2, 3, 1]
    assert nearest_place(demo, 46.8, 32.0).section == 2


@pytest.mark.parametrize(
    ("bearing", "along", "inwards"),
    [(90.0, 90.0, 0.0), (80.0, 90.0, 10.0), (100.0, 90.0, -10.0), (280.0, 270.0, 10.0), (265.0, 270.0, -5.0), (0.0, 90.0, 90.0)],
)
def test_a_bearing_against_the_fence(bearing, along, inwards):
    """The yard lies north of a fence along +x: a bearing left of east, and right of west, points inwards."""
    site = yard([camera(bearing_deg=bearing, depression_deg=10.0)])
    mount = mount_of(site, site.camera[0])
    assert (mount.along_deg, mount.inwards_deg) == (pytest.approx(along), pytest.approx(inwards))


def test_what_looks_over_the_horizon_or_straight_down():
    site = yard([camera("UP", bearing_deg=90.0, depression_deg=-15.0), camera("DOWN", bearing_deg=0.0, depression_deg=90.0)])
    up, down = (mount_of(site, each) for each in site.camera)
    assert (up.axis_m, up.axis, up.feet_from_m, up.only_sky, up.horizon_shows) == (None, None, None, True, False)
    assert up.horizon_row > up.rows and up.horizon_above_deg < 0.0
    assert down.axis_from_m == pytest.approx(0.0, abs=1e-9) and down.feet_from_m == 0.0 and down.horizon_row is None
    assert (up.tolerance_px, up.tolerance_given) == ((1, 1), False)


def test_true_north_only_where_the_site_has_a_place():
    place = {"latitude": 54.0, "longitude": 6.0, "grid_north_deg": 30.0}
    plain, mapped = (yard([camera(bearing_deg=350.0, depression_deg=9.0)], **keys) for keys in ({}, {"map": place}))
    assert mount_of(plain, plain.camera[0]).true_deg is None
    assert mount_of(mapped, mapped.camera[0]).true_deg == pytest.approx(20.0)
