"""Which marks show how a camera is turned, and where they must appear: by trigonometry, OpenCV, enumeration."""

import itertools
import math

import cv2
import numpy as np
import pytest

import fencecast as fc
from fencecast.camera import camera_geometry
from fencecast.prove.marks import (
    APART_M,
    FEWEST,
    LEAST_BOTTLE_PX,
    MARGINS,
    REASONS,
    _usable,
    candidates,
    choose_marks,
    sensitivities,
    standard_deviations,
)
from fencecast.review.optics import eyes_of
from prove.aimyards import camera, hostile, ring, yard

DEMO = "configs/estuary-yard.toml"


@pytest.fixture(scope="module")
def demo(request):
    return fc.load_site(request.config.rootpath / DEMO)


def choices(site, count=4):
    return {each.mark: choose_marks(site, each, count) for each in site.camera}


def by_trigonometry(x, y, mast, height, bearing, depression, focal_px):
    """Column and row from the axis of a ground point: two right triangles, nothing of the product."""
    far, side = math.hypot(x - mast[0], y - mast[1]), math.atan2(x - mast[0], y - mast[1]) - bearing
    ahead, right = far * math.cos(side), far * math.sin(side)
    below = math.atan2(height, ahead) - depression  # in the upright plane through the axis
    slant = math.hypot(height, ahead)
    return focal_px * right / (slant * math.cos(below)), focal_px * math.tan(below)


def test_columns_and_rows_of_the_demo_s_first_camera_by_trigonometry(demo):
    """T1 stands at (0.8, 1.2), 4 m up, aims at (21.0, 1.6); 6 mm on 17 um: all typed here."""
    bearing, depression = math.atan2(20.2, 0.4), math.atan2(4.0, math.hypot(20.2, 0.4))
    marks = choices(demo)["T1"].marks
    assert len(marks) == 4
    for mark in marks:
        u, v = by_trigonometry(mark.x_m, mark.y_m, (0.8, 1.2), 4.0, bearing, depression, 6000.0 / 17.0)
        assert (mark.column, mark.row) == (pytest.approx(80.0 + u, abs=1e-6), pytest.approx(60.0 + v, abs=1e-6))


def test_columns_and_rows_of_all_cameras_by_a_computer_vision_library(demo):
    """OpenCV's projectPoints, rectilinear: its camera looks along +z, +x right, +y down."""
    for each in demo.camera:
        lens, sensor = demo.lenses[each.lens], demo.sensors[each.sensor]
        focal = lens.focal_length_mm * 1000.0 / sensor.pitch_um
        b, d = math.radians(each.bearing_deg), math.radians(each.depression_deg)
        right = np.array([math.cos(b), -math.sin(b), 0.0])
        forward = np.array([math.sin(b) * math.cos(d), math.cos(b) * math.cos(d), -math.sin(d)])
        turn = np.stack([right, np.cross(forward, right), forward])
        position = np.array([*each.position_m, each.height_m])
        matrix = np.array([[focal, 0.0, sensor.columns / 2], [0.0, focal, sensor.rows / 2], [0.0, 0.0, 1.0]])
        marks = choose_marks(demo, each).marks
        points = np.array([[mark.x_m, mark.y_m, 0.0] for mark in marks])
        found, _ = cv2.projectPoints(points, cv2.Rodrigues(turn)[0], -turn @ position, matrix, None)
        expected = [[mark.column, mark.row] for mark in marks]
        np.testing.assert_allclose(found.reshape(-1, 2), expected, atol=1e-6)


def test_an_equidistant_lens_by_hand():
    """r = f theta about the axis: the angle between the axis and the mark, and which way it lies."""
    site = yard([camera(lens="fish", aim_m=[12.3, 4.2])])
    focal = 3000.0 / 17.0
    eye = np.array([0.0, 2.0, 4.0])
    axis = np.array([12.3, 4.2, 0.0]) - eye
    axis /= np.linalg.norm(axis)
    right = np.array([axis[1], -axis[0], 0.0]) / math.hypot(axis[0], axis[1])
    down = np.cross(axis, right)
    marks = choices(site)["K1"].marks
    assert len(marks) == 4
    for mark in marks:
        ray = np.array([mark.x_m, mark.y_m, 0.0]) - eye
        theta = math.acos(ray @ axis / np.linalg.norm(ray))
        way = math.atan2(ray @ down, ray @ right)
        assert mark.column == pytest.approx(80.0 + focal * theta * math.cos(way), abs=1e-6)
        assert mark.row == pytest.approx(60.0 + focal * theta * math.sin(way), abs=1e-6)


def test_a_camera_whose_columns_and_rows_were_worked_out_elsewhere():
    """A camera at (0, 0, 4), bearing 35, depression 15, 3 mm on 17 um, 160 x 120; four points, to a thousandth of a pixel."""
    site = yard([camera(position_m=[0.0, 0.0], bearing_deg=35.0, depression_deg=15.0, lens="three")])
    geometry = camera_geometry(site, site.camera[0])
    expected = {(6, 6): (108.552, 92.960), (2, 12): (0.476, 75.507), (14, 9): (149.932, 58.639), (10, 20): (54.160, 45.339)}
    for (x, y), (column, row) in expected.items():
        u, v = geometry.position_px(x, y, 0.0)
        assert (80.0 + u, 60.0 + v) == (pytest.approx(column, abs=6e-4), pytest.approx(row, abs=6e-4))


def points_of(site, places):
    """Points of the first section by (metres along, metres inside) of a fence that runs along +x on y = 0."""
    return np.array([[along, inside] for along, inside in places], dtype=float)


def test_what_four_marks_tell_was_worked_out_elsewhere(demo):
    """A 1 px reading of (21, 2), (13, 3), (35, 0.5), (35, 8) by the demo's first camera: 0.08, 0.21, 0.70 degrees, 0.08 m."""
    eye = eyes_of(demo)[0]
    sd = standard_deviations(eye, points_of(demo, [(21, 2), (13, 3), (35, 0.5), (35, 8)]))
    assert [round(value, 2) for value in sd.values()] == [0.08, 0.21, 0.70, 0.08]
    assert list(sd) == ["bearing_deg", "depression_deg", "roll_deg", "height_m"]


def test_standard_deviations_are_those_of_readings_that_are_fitted(demo):
    """200 noisy readings, each solved by least squares with an independent projection: their scatter is what is promised (a
    scatter of 200 is within 15 % of its expectation in 99.7 % of cases)."""
    eye = eyes_of(demo)[0]
    marks = choices(demo)["T1"].marks
    points = np.array([[mark.x_m, mark.y_m] for mark in marks])
    bearing, depression = math.atan2(20.2, 0.4), math.atan2(4.0, math.hypot(20.2, 0.4))

    def project(p):
        out = []
        for x, y in points:
            u, v = by_trigonometry(
                x, y, (0.8, 1.2), 4.0 + p[3], bearing + math.radians(p[0]), depression + math.radians(p[1]), 6000 / 17
            )
            c, s = math.cos(math.radians(p[2])), math.sin(math.radians(p[2]))
            out += [c * u + s * v, c * v - s * u]
        return np.array(out)

    zero = np.zeros(4)
    j = np.stack([(project(zero + h) - project(zero - h)) / 2e-4 for h in 1e-4 * np.eye(4)], axis=1)
    noise = np.random.default_rng(5).normal(size=(8, 200))
    found = np.linalg.lstsq(j, noise, rcond=None)[0]
    expected = list(choices(demo)["T1"].sd.values())
    np.testing.assert_allclose(found.std(axis=1), expected, rtol=0.15)
    np.testing.assert_allclose(sensitivities(eye, points).reshape(-1, 4), j, atol=2e-5)


def test_no_other_three_marks_tell_more(demo):
    """All sets of three beside mark 1 of the demo's first camera, by brute force. Catches: a greedy choice, never exchanged."""
    eye = eyes_of(demo)[0]
    found = candidates(demo, eye)
    pool = np.flatnonzero(_usable(eye, found, MARGINS[0], "bottle") & (found.section == 0))
    j = sensitivities(eye, found.point[pool])
    each = np.einsum("nki,nkj->nij", j, j)
    u, v, point = found.u[pool], found.v[pool], found.point[pool]
    first = int(np.argmin(np.hypot(u, v)))
    marks = choices(demo)["T1"].marks
    assert (marks[0].x_m, marks[0].y_m) == tuple(point[first])
    a, b, c = np.array(list(itertools.combinations(range(len(pool)), 3))).T
    near = np.hypot(u[:, None] - u, v[:, None] - v) < 18.0
    near |= np.hypot(*(point[:, None] - point).transpose(2, 0, 1)) < 2.5
    np.fill_diagonal(near, False)
    allowed = ~(near[a, b] | near[a, c] | near[b, c] | near[first, a] | near[first, b] | near[first, c])
    allowed &= (a != first) & (b != first) & (c != first)
    best = np.linalg.det((each[first] + each[a] + each[b] + each[c])[allowed]).max()
    chosen = sensitivities(eye, np.array([[mark.x_m, mark.y_m] for mark in marks])).reshape(-1, 4)
    assert np.linalg.det(chosen.T @ chosen) == pytest.approx(best, rel=1e-9)


def test_the_demo_s_marks_keep_every_rule(demo):
    """Inside by 10 % of the width, bottle 3 px, apart, one near and one far, one on each side, on the section looked along."""
    sections = {"T1": 0, "T2": 0, "T3": 1, "T4": 2, "T5": 2, "T6": 3, "T7": 1}
    for mark, choice in choices(demo).items():
        assert (len(choice.marks), choice.stands_on, choice.margin, choice.reason) == (4, "bottle", 0.10, "")
        assert {each.section for each in choice.marks} == {sections[mark]}
        columns, rows = (np.array([getattr(each, name) for each in choice.marks]) for name in ("column", "row"))
        assert columns.min() >= 16.0 and columns.max() <= 144.0 and rows.min() >= 16.0 and rows.max() <= 104.0
        assert (np.abs(columns - 80.0) + np.abs(rows - 60.0)).argmin() == 0
        assert rows.max() >= 80.0 and rows.min() <= 60.0 and columns.min() < 80.0 < columns.max()
        assert min(each.tall_px for each in choice.marks) >= LEAST_BOTTLE_PX
        for one, other in itertools.combinations(choice.marks, 2):
            assert math.dist((one.x_m, one.y_m), (other.x_m, other.y_m)) >= APART_M
            assert math.dist((one.column, one.row), (other.column, other.row)) >= 18.0


@pytest.mark.parametrize("count", [3, 4, 6, 8])
def test_as_many_marks_as_asked_for(demo, count):
    choice = choose_marks(demo, demo.camera[0], count)
    assert [mark.number for mark in choice.marks] == list(range(1, count + 1))
    assert len({(mark.x_m, mark.y_m) for mark in choice.marks}) == count and len(choice.sd) == 4


def test_more_marks_tell_more(demo):
    told = [list(choose_marks(demo, demo.camera[0], count).sd.values()) for count in (3, 4, 6, 8)]
    assert all(np.all(np.array(more) < np.array(fewer)) for fewer, more in zip(told, told[1:]))


def test_a_camera_without_candidates_says_why():
    """Catches: a crash, or a mark in the sky, for cameras that see no ground beside the fence."""
    hut = [{"name": "hut", "footprint_m": [[3.0, 0.0], [4.0, 0.0], [4.0, 20.0], [3.0, 20.0]], "height_m": 6.0}]
    over = yard([camera(bearing_deg=90.0, depression_deg=-15.0)])
    away = yard([camera(position_m=[10.0, -3.0], bearing_deg=180.0, depression_deg=20.0)])
    hidden = yard([camera()], obstacle=hut)
    high = yard([camera(bearing_deg=90.0, depression_deg=9.0, height_m=40.0, position_m=[-110.0, 2.0])])
    for site, reason in ((over, REASONS[0]), (away, REASONS[1]), (hidden, REASONS[2]), (high, REASONS[3])):
        choice = choose_marks(site, site.camera[0])
        assert (choice.marks, choice.reason, choice.sd) == ((), reason, {}), reason


def test_marks_are_where_they_can_be_seen_and_reached():
    """Nothing before them, off obstacles and fences, on the inside; a person stands where a bottle would be too small."""
    for site in (hostile(), ring([camera("R1", position_m=[1.0, 1.0], aim_m=[1.5, 18.0])])):
        for each in site.camera:
            choice = choose_marks(site, each, 6)
            for mark in choice.marks:
                assert 0.0 < mark.x_m < 60.0 and 0.0 < mark.y_m < 40.0
                for obstacle in site.obstacle:
                    (west, south), (east, north) = np.min(obstacle.footprint_m, axis=0), np.max(obstacle.footprint_m, axis=0)
                    assert math.hypot(max(west - mark.x_m, 0, mark.x_m - east), max(south - mark.y_m, 0, mark.y_m - north)) >= 0.3
                    # The line of sight passes over or beside the box: sampled, with nothing of the product.
                    for share in np.linspace(0.0, 1.0, 400)[:-1]:
                        x, y = (a + share * (b - a) for a, b in zip(each.position_m, (mark.x_m, mark.y_m)))
                        if west < x < east and south < y < north:
                            assert each.height_m * (1.0 - share) >= obstacle.height_m - 0.05
    assert {choose_marks(hostile(), each).stands_on for each in hostile().camera[2:3]} == {"person"}


def test_a_hidden_corner_has_no_mark():
    """Catches: marks behind a hut. The same camera with and without it."""
    hut = [{"name": "hut", "footprint_m": [[8.0, 2.5], [12.0, 2.5], [12.0, 8.0], [8.0, 8.0]], "height_m": 3.0}]
    free, hindered = (choose_marks(yard([camera()], obstacle=o), yard([camera()]).camera[0], 8).marks for o in ([], hut))
    assert {(m.x_m, m.y_m) for m in free} != {(m.x_m, m.y_m) for m in hindered}
    assert all(m.y_m < 2.6 or m.x_m > 20.0 for m in hindered)
    assert any(m.y_m >= 3.0 for m in free) and len(hindered) >= FEWEST
