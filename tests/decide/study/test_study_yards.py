"""Invented yards: the same for the same seed, whatever is asked for beside them, and always sites that can be."""

import numpy as np
import pytest
import shapely

from decide.place.small_yards import CORE, LONG, NIGHT
from fencecast.decide.place.kit import kit_of
from fencecast.decide.study.yards import SHAPES, Yards, make_yard
from fencecast.site import Site

EXTREMES = {
    "usual": Yards(count=1, seed=3, no_mast_m=(0.0, 15.0)),
    "small and full": Yards(count=1, seed=4, side_m=(25.0, 30.0), buildings=(5, 20), clutter=(20, 50)),
    "large": Yards(count=1, seed=5, side_m=(1500.0, 2000.0), heights_m=(4.0, 8.0), barrier="none"),
    "hardly a mast": Yards(count=1, seed=6, no_mast_m=(900.0, 1000.0), barrier="wall"),
    "nothing inside": Yards(count=1, seed=7, buildings=(0, 0), clutter=(0, 0)),
}


FIRST = [[-47.65, -42.02], [36.92, -51.7], [47.65, 42.02], [-36.92, 51.7]]


def site_of(yards: Yards, number: int) -> Site:
    ground = {"ground": "gravel", "segment_length_m": 50.0}
    return Site(
        title="t", site=ground, sensors={"core": CORE}, lenses={"long": LONG}, weather=[NIGHT], **make_yard(yards, number)
    )


def test_a_yard_does_not_change_when_more_are_asked_for():
    """Catches: one stream of numbers for all yards, so that a study cannot grow without starting again."""
    few, many = Yards(count=3, seed=2), Yards(count=3000, seed=2)
    assert [make_yard(few, k) for k in range(3)] == [make_yard(many, k) for k in range(3)]
    assert make_yard(few, 0) != make_yard(few, 1)
    assert make_yard(few, 0) != make_yard(Yards(count=3, seed=3), 0)


def test_the_first_yard_of_a_seed_is_this_one():
    """Catches: draws in another order, or from a source that changes with a library's version (numbers as first made)."""
    made = make_yard(Yards(count=1, seed=0, shape=("rectangle",), buildings=(0, 0), clutter=(0, 0)), 0)
    corners = np.array(made["perimeter"][0]["points_m"])
    sides = np.hypot(*(np.roll(corners, -1, axis=0) - corners).T)
    assert corners.shape == (4, 2) and np.allclose(sides[:2], sides[2:], atol=0.02)
    assert corners.tolist() == FIRST


@pytest.mark.parametrize("name", EXTREMES)
def test_every_yard_is_a_site_with_places_to_stand(name):
    """Catches: fences that cross, buildings on each other or outside, mountings in buildings. Shapely is the outside side."""
    yards = EXTREMES[name]
    for number in range(12):
        site = site_of(yards, number)
        fence = shapely.Polygon(site.perimeter[0].points_m)
        assert fence.is_valid and fence.exterior.is_ccw and site.perimeter[0].closed
        things = [shapely.Polygon(each.footprint_m) for each in site.obstacle]
        assert all(fence.contains(thing) for thing in things)
        assert all(not a.intersects(b) for i, a in enumerate(things) for b in things[:i])
        buildings = [o for o in site.obstacle if o.name.startswith("building")]
        assert yards.buildings[1] >= len(buildings) and all(4.5 <= o.height_m <= 9.0 for o in buildings)
        mounts = kit_of(site).mounts
        assert mounts and all(fence.contains(shapely.Point(m.x_m, m.y_m)) for m in mounts)
        assert {height for m in mounts for height in m.heights_m} == set(yards.heights_m)
        gate = site.perimeter[0].gates[0]
        assert gate.to_m - gate.from_m == pytest.approx(5.0)


def test_limits_of_mounting_and_shape_are_kept():
    """Catches: a stretch without masts that is not kept free, shapes that were not asked for, one shape only."""
    corners = {4: "rectangle", 5: "irregular"}
    for number in range(20):
        made = make_yard(Yards(count=1, seed=1, shape=("rectangle",), no_mast_m=(10.0, 10.0)), number)
        points = np.array(made["perimeter"][0]["points_m"])
        inside = 0.0
        for mounting in made["mounting"]:
            inside += float(np.hypot(*np.diff(np.array(mounting["points_m"]), axis=0)[0]))
        around = shapely.Polygon(points).buffer(-1.0, join_style="mitre").exterior.length
        assert inside == pytest.approx(around - 40.0, abs=0.5 * 8)  # ends of half a metre and less are left out
        assert corners[len(points)] == "rectangle"
    seen = {len(make_yard(Yards(count=1, seed=1), k)["perimeter"][0]["points_m"]) for k in range(40)}
    assert seen == {4, 5, 6} and len(SHAPES) == 3
