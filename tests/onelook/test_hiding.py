"""What is in the way of a look and where a person beside the picture is: against geometry by hand and the kernel's own look."""

import math

import numpy as np
import pytest

import fencecast as fc
from fencecast.camera import camera_geometry
from fencecast.findings.lookscene import way_sentences
from fencecast.kernels.look import SHADOW_M
from fencecast.onelook.hiding import hidden_share, hiders, outside_of
from fencecast.onelook.scene import described_classes, set_up_look
from fencecast.onelook.scenery import horizon, scenery

SITE = """
schema = 2
title = "Yard with things in the way"
seed = 5
[site]
ground = "gravel"
[[perimeter]]
name = "fence"
points_m = [[-10, 0], [60, 0]]
inside = "left"
barrier = "mesh"
barrier_height_m = 2.4
[[perimeter]]
name = "palisade"
points_m = [[30, 1], [30, 9]]
inside = "left"
barrier = "palisade"
barrier_height_m = 2.0
barrier_open_share = 0.4
[[perimeter]]
name = "parapet"
points_m = [[0, 20], [12, 20]]
inside = "left"
barrier = "wall"
barrier_height_m = 1.2
[[obstacle]]
name = "pallets"
footprint_m = [[10, 4], [12, 4], [12, 6], [10, 6]]
height_m = 1.6
[[obstacle]]
name = "store"
footprint_m = [[5, 24], [15, 24], [15, 30], [5, 30]]
height_m = 6
[sensors.core]
columns = 160
rows = 120
pitch_um = 17
netd_mk = 50
[lenses.long]
focal_length_mm = 6
f_number = 1.0
[lenses.round]
focal_length_mm = 2.5
f_number = 1.0
projection = "equidistant"
[[camera]]
mark = "EAST"
position_m = [0, 5]
height_m = 4
bearing_deg = 90
depression_deg = 10
sensor = "core"
lens = "long"
[[camera]]
mark = "NORTH"
position_m = [8, 10]
height_m = 4
bearing_deg = 0
depression_deg = 12
sensor = "core"
lens = "round"
[[rule]]
kind = "line"
perimeter = "fence"
[[weather]]
name = "clear night"
hours_per_year = 1000
air_temperature_c = 5
relative_humidity = 0.75
ground_minus_air_k = -2
"""


@pytest.fixture(scope="module")
def site():
    return fc.parse_site(SITE)


def look_at(site, mark, place, gait="walk"):
    return set_up_look(site, mark, "clear night", None, gait, described_classes(site), place)


def test_an_obstacle_hides_what_a_pocket_calculator_says(site):
    """Camera 4 m up, pallets 1.6 m high whose far face is 12 m away, person at 14 m: 4 + (1.6 - 4) x 14 / 12 = 1.2 m.

    Catches: the near face taken (0.64 m), the height of the obstacle taken for the height that it hides.
    """
    (found,) = hiders(look_at(site, "EAST", (14.0, 5.0)))
    assert (found.name, found.kind, found.passes) == ("pallets", "obstacle", 0.0)
    assert found.below_m == pytest.approx(1.2) and found.distance_m == pytest.approx(10.0)
    assert found.check == "4.00 + (1.60 − 4.00) × 14.00 / 12.00 = 1.20 m"
    stature = look_at(site, "EAST", (14.0, 5.0)).body.height
    assert hidden_share(look_at(site, "EAST", (14.0, 5.0)), (found,)) == pytest.approx(1.2 / stature)


def test_a_fence_in_the_way_is_named_with_what_it_passes(site):
    """Straight on, 0.4 of a palisade is open. Past its top (seen from 4 m, 30 m away, 2 m high, at 36 m: below 1.6 m) a head is
    free. Catches: a fence called solid, a fence that is not named, the open share squared."""
    found = hiders(look_at(site, "EAST", (36.0, 5.0)))
    (fence,) = (each for each in found if each.kind == "fence")
    assert (fence.name, fence.passes) == ("palisade", pytest.approx(0.4))
    assert fence.below_m == pytest.approx(4 + (2 - 4) * 36 / 30)
    assert hidden_share(look_at(site, "EAST", (36.0, 5.0)), (fence,)) == 0.0


def test_a_closed_fence_hides():
    """Catches: 'seen through' a fence that passes nothing."""
    closed = fc.parse_site(SITE.replace("barrier_open_share = 0.4", "barrier_open_share = 0.0"))
    look = fc.explain(closed, "EAST", "clear night", place_m=(31.0, 5.0), gait="crawl")
    (fence,) = (each for each in look["hidden_by"] if each["kind"] == "fence")
    assert fence["passes"] == 0.0 and look["hidden_share"] == 1.0
    (said,) = (text for text in way_sentences(look, "si") if "palisade" in text)
    assert said == "A closed fence, palisade, 2 m high and 30 m from the camera, hides all below 1.9 m where the person is."


def test_the_highest_of_what_hides_is_the_kernel_s_shadow(site):
    """At 600 places in the picture of either camera. Catches: a wall or an obstacle that the kernel hides with and that is not
    named, or one that is named and hides nothing."""
    random = np.random.default_rng(3)
    hidden = 0
    for _ in range(600):
        place = (random.uniform(2.0, 45.0), random.uniform(1.0, 40.0))
        look = look_at(site, random.choice(["EAST", "NORTH"]), place)
        below = max((each.below_m for each in hiders(look) if each.kind != "fence"), default=0.0)
        if not outside_of(look):  # else the kernel stops before it asks what hides
            assert max(float(look.result[SHADOW_M]), 0.0) == pytest.approx(below, abs=1e-9)
            hidden += below > 0.0
    assert hidden > 15


@pytest.mark.parametrize(
    ("mark", "place", "turn", "by"),
    [
        ("EAST", (3.0, 5.0), "depression_deg", 1),  # under the camera: tilt it down
        ("EAST", (12.0, 14.0), "bearing_deg", -1),  # to the left: turn it left
        ("EAST", (12.0, -5.0), "bearing_deg", 1),
        ("NORTH", (8.0, 11.0), "depression_deg", 1),
    ],
)
def test_a_camera_turned_by_what_is_missing_has_the_person_in_its_picture(site, mark, place, turn, by):
    """1 degree more brings the person in, 1 degree less does not; the kernel's look is the judge. Catches: angles from the axis
    instead of the edge, left for right, pixels for degrees, one projection's formula used for the other."""
    missing = outside_of(look_at(site, mark, place))
    (side,) = {"left", "right", "below"} & {each.side for each in missing if not each.behind}
    degrees = missing[0].degrees
    assert side == {"depression_deg": "below", "bearing_deg": "left" if by < 0 else "right"}[turn]
    index = [camera.mark for camera in site.camera].index(mark)
    for more, seen in ((-1.0, False), (1.0, True)):
        cameras = list(site.camera)
        was = getattr(cameras[index], turn)
        cameras[index] = cameras[index].model_copy(update={turn: was + by * (degrees + more)})
        turned = site.model_copy(update={"camera": tuple(cameras)})
        assert look_at(turned, mark, place).drawn == seen


def test_a_person_behind_the_camera_is_said_to_be_behind(site):
    """Due west of a camera that looks east with a field of 25.5 degrees: 180 - 12.8. Catches: an angle folded back into it."""
    (side,) = outside_of(look_at(site, "EAST", (-10.0, 4.9)))
    field = 2 * math.degrees(math.atan(80 * 17e-6 / 6e-3))
    assert side.behind and side.degrees == pytest.approx(180.0 - 0.5 * field, abs=1.0)


def test_faces_are_where_the_camera_sees_their_corners(site):
    """Corners of the pallets by the projection that pictures are drawn with. Catches: rows upside down, left and right swapped, a
    footprint at another height; a face turned away that is drawn."""
    for camera in site.camera:
        geometry = camera_geometry(site, camera)
        faces = {shape.name: shape.faces for shape in scenery(site, camera)}
        assert all(
            (face >= -1e-9).all() and (face <= np.array([160, 120]) + 1e-9).all() for each in faces.values() for face in each
        )
    steeper = site.camera[0].model_copy(update={"depression_deg": 16.0})  # so that the foot of the pallets is in the picture
    geometry = camera_geometry(site, steeper)
    faces = {shape.name: shape.faces for shape in scenery(site, steeper)}
    corners = np.vstack(faces["pallets"])
    for x, y, z in ((10, 4, 0), (10, 6, 0), (10, 4, 1.6), (12, 6, 1.6)):
        u, v = geometry.position_px(x, y, z)
        assert np.hypot(*(corners - (u + 80, v + 60)).T).min() < 1e-6
    assert len(faces["pallets"]) == 2  # the face towards the camera and the roof; its sides are seen from neither
    u, v = geometry.position_px(12, 4, 0)
    assert np.hypot(*(corners - (u + 80, v + 60)).T).min() > 0.5  # a back corner on the ground is out of sight
    assert "store" not in faces and "fence" in faces


def test_the_horizon_is_where_level_rays_arrive(site):
    """Row 60 - f tan(8 degrees) of the rectilinear camera. Catches: a horizon below the axis; one in a picture that has none."""
    (line,) = horizon(site, site.camera[0].model_copy(update={"depression_deg": 8.0}))
    assert line[:, 1] == pytest.approx(60.0 - 6e-3 / 17e-6 * math.tan(math.radians(8.0)), abs=0.05)
    assert not horizon(site, site.camera[0])  # 10 degrees are more than half the field of 19.3
    assert horizon(site, site.camera[1])


def test_the_budget_has_a_rung_for_what_hides_and_for_the_edge_of_the_picture(site):
    """Catches: nothing left of the contrast without a step that takes it; a step that takes what is still seen."""
    whole = fc.explain(site, "EAST", "clear night", place_m=(14.0, 5.0))
    rung = next(r for r in whole["rungs"] if r["name"] == "hidden by pallets")
    assert rung["check"].endswith("= 1.20 m") and whole["in_frame"] and rung["factor"] == 1.0
    head = fc.explain(site, "EAST", "clear night", place_m=(12.6, 5.0))
    rung = next(r for r in head["rungs"] if r["name"] == "torso hidden by pallets")
    assert rung["after_k"] == 0.0 and head["in_frame"] and head["hidden_share"] < 1.0
    crawling = fc.explain(site, "EAST", "clear night", place_m=(12.6, 5.0), gait="crawl")
    rung = next(r for r in crawling["rungs"] if r["name"] == "hidden by pallets")
    assert rung["after_k"] == 0.0 and not crawling["in_frame"] and crawling["hidden_share"] == 1.0
    beside = fc.explain(site, "EAST", "clear night", place_m=(12.0, 14.0))
    rung = next(r for r in beside["rungs"] if r["name"] == "outside the picture")
    assert rung["check"] == f"{beside['outside'][0]['degrees']:.1f}° left" and rung["after_k"] == 0.0
    assert not [r for r in beside["rungs"] if r["name"].startswith("blur")]


def test_other_cameras_are_asked_about_the_same_place(site):
    """Catches: the other camera asked at the same distance on its own bearing."""
    here = fc.explain(site, "EAST", "clear night", place_m=(8.0, 22.0))
    (other,) = here["others"]
    there = fc.explain(site, "NORTH", "clear night", place_m=(8.0, 22.0))
    assert other["camera"] == "NORTH" and other["p_counts"] == there["p_counts"] > 0.0
    assert here["outside"] and not here["in_frame"] and other["in_frame"]
