"""Tapes that check a mark: lengths by hypot, angles, and what a tape may not run through."""

import itertools
import math

import pytest

import fencecast as fc
from fencecast.prove.marks import Mark, choose_marks
from fencecast.prove.tapes import LONGEST_TAPE_M, _lies_free, fixed_points, tapes_of
from prove.aimyards import camera, hostile, ring, yard

DEMO = "configs/estuary-yard.toml"


@pytest.fixture(scope="module")
def demo(request):
    return fc.load_site(request.config.rootpath / DEMO)


def mark_at(x, y):
    return Mark(1, 0, x, y, x, y, 80.0, 60.0, 5.0, 10.0)


def test_fixed_points_of_the_demo(demo):
    """Four joints, one bend, two posts, eight corners of buildings, the mast."""
    points = fixed_points(demo, demo.camera[0])
    kinds = [point.kind for point in points]
    assert {kind: kinds.count(kind) for kind in set(kinds)} == {"corner": 4, "bend": 1, "post": 2, "building": 8, "mast": 1}
    where = {(p.kind, p.name, p.which, p.sections): (p.x_m, p.y_m) for p in points}
    assert where[("corner", "", "", (0, 1))] == (48.0, 0.0) and where[("bend", "", "", (2,))] == (22.0, 37.0)
    assert where[("building", "workshop", "SE", ())] == (24.0, 13.0) and where[("mast", "T1", "", ())] == (0.8, 1.2)
    posts = [p for p in points if p.kind == "post"]
    assert [(p.x_m, p.y_m, p.chainage_m) for p in posts] == [(48.0, 9.0, 9.0), (48.0, 15.0, 15.0)]


def test_every_tape_is_as_long_as_its_ends_are_apart(demo):
    """By hypot from the coordinates of the site file; at most 30 m; crossing at more than 24 degrees; never the same point."""
    for site in (demo, hostile(), ring([camera("R1", position_m=[1.0, 1.0], aim_m=[1.5, 18.0])])):
        for each in site.camera:
            points = fixed_points(site, each)
            for mark in choose_marks(site, each, 6).marks:
                tapes = tapes_of(site, points, mark)
                for tape in tapes:
                    assert tape.length_m == math.hypot(tape.start.x_m - mark.x_m, tape.start.y_m - mark.y_m) <= LONGEST_TAPE_M
                for a, b in itertools.combinations(tapes, 2):
                    ways = [math.atan2(t.start.y_m - mark.y_m, t.start.x_m - mark.x_m) for t in (a, b)]
                    assert 24.0 < abs(math.degrees(ways[0] - ways[1])) % 180.0 < 156.0
                    assert a.length_m <= b.length_m


def test_the_demo_s_tapes_by_hand(demo):
    """Mark 1 of T1 at (21, 2): to the workshop's corners at (24, 13) and (10, 13)."""
    mark = choose_marks(demo, demo.camera[0]).marks[0]
    tapes = tapes_of(demo, fixed_points(demo, demo.camera[0]), mark)
    assert [(t.start.name, t.start.which) for t in tapes] == [("workshop", "SE"), ("workshop", "SW")]
    assert [t.length_m for t in tapes] == [pytest.approx(math.sqrt(130.0)), pytest.approx(math.sqrt(242.0))]


def test_no_tape_runs_through_a_building_or_a_fence():
    """Catches: a tape to the far corner of a hut, and one across the fence to a mast outside."""
    hut = [{"name": "hut", "footprint_m": [[18.0, 4.0], [22.0, 4.0], [22.0, 8.0], [18.0, 8.0]], "height_m": 3.0}]
    site = yard([camera(position_m=[20.0, -3.0], bearing_deg=0.0, depression_deg=30.0)], obstacle=hut)
    points, mark = fixed_points(site, site.camera[0]), mark_at(20.0, 2.0)
    free = {(point.kind, point.which) for point in points if _lies_free(site, point, mark)}
    assert free == {("end", ""), ("building", "SW"), ("building", "SE")}
    assert {(t.start.kind, t.start.which) for t in tapes_of(site, points, mark)} == {("building", "SW"), ("building", "SE")}


def test_a_site_with_one_point_in_reach_gives_one_tape():
    """A long fence and nothing else: along it no two tapes cross, so the nearer one stands alone; far away there is none."""
    perimeter = [{"name": "long", "points_m": [[0.0, 0.0], [300.0, 0.0]], "inside": "left"}]
    site = yard([camera(position_m=[150.0, 4.0])], perimeter=perimeter, rule=[{"kind": "line", "perimeter": "long"}])
    points = fixed_points(site, site.camera[0])
    assert [t.start.kind for t in tapes_of(site, points, mark_at(20.0, 0.5))] == ["end"]
    assert tapes_of(site, points, mark_at(80.0, 0.5)) == ()


def test_only_corners_that_a_direction_names():
    """Of an L two corners look the same way: the one that sticks out is kept, and no two have the same name."""
    shape = [[0, 0], [10, 0], [10, 4], [4, 4], [4, 10], [0, 10]]
    hut = [{"name": "L", "footprint_m": [[x + 5.0, y + 5.0] for x, y in shape], "height_m": 3.0}]
    site = yard([camera()], obstacle=hut)
    corners = [p for p in fixed_points(site, site.camera[0]) if p.kind == "building"]
    assert len({p.which for p in corners}) == len(corners)
    assert {p.which: (p.x_m, p.y_m) for p in corners}["SW"] == (5.0, 5.0)
