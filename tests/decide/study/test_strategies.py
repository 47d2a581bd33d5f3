"""Strategies: spacing follows from where a lens holds the requirement, by geometry that is checked point by point."""

import math
from types import SimpleNamespace

import numpy as np
import pytest

from decide.place.small_yards import CORE, LONG, NIGHT, WIDE, camera, yard
from fencecast.decide.layout import with_cameras
from fencecast.decide.place import reach as reach_module
from fencecast.decide.place.kit import kit_of
from fencecast.decide.place.reach import Reach, best_reach, held_interval, reaches
from fencecast.decide.place.views import held_from, straight_runs
from fencecast.decide.study.strategies import STRATEGIES, strategy_of
from fencecast.errors import UsageError
from fencecast.job import run
from fencecast.site import parse_site, site_to_toml
from kernels.kernel_sites import ONE_PERSON

RING = {
    "perimeter": [
        {"name": "ring", "points_m": [[0.0, 0.0], [60.0, 0.0], [60.0, 40.0], [0.0, 40.0]], "inside": "left", "closed": True}
    ],
    "rule": [{"kind": "line", "perimeter": "ring"}],
    "obstacle": [{"name": "hall", "footprint_m": [[20.0, 15.0], [40.0, 15.0], [40.0, 25.0], [20.0, 25.0]], "height_m": 6.0}],
    "camera": [camera("C1", 1.0, 1.0, 45.0)],
    "mounting": [
        {"name": "inside", "points_m": [[1.0, 1.0], [59.0, 1.0], [59.0, 39.0], [1.0, 39.0], [1.0, 1.2]], "heights_m": [4.0]}
    ],
}


@pytest.fixture
def known_reach(monkeypatch):
    """Invented intervals in place of simulated ones: the long lens holds 8 to 24 m, the wide one 4 to 12 m."""

    def invented(site, choice, heights_m, classes, seed, threads=1):
        near, far = {"long": (8.0, 24.0), "wide": (4.0, 12.0)}[choice.lens]
        distances = np.geomspace(1.0, 48.0, 400)
        curve = np.where((distances >= near) & (distances <= far), 0.95, 0.5)
        flat = np.full_like(curve, 0.5)
        by_depression = np.array([curve if k == 3 else flat for k in range(7)])
        return distances, np.broadcast_to(by_depression[None, :, None, :], (len(heights_m), 7, len(classes), 400))

    monkeypatch.setattr("fencecast.decide.place.reach.pd_by_distance", invented)


def held_by_layout(site, cameras, found):
    """Which points, a metre apart along the fence, some camera of a layout holds, by its own position and bearing."""
    points = np.concatenate([[run.point(s) for s in np.arange(0.5, run.length_m, 1.0)] for run in straight_runs(site)])
    held = np.zeros(len(points), dtype=bool)
    for each in cameras:
        lens = next(r for r in found if r.choice.lens == each.lens and r.length_m > 0.0)
        # A mast stands 1 m off the fence and cut corners are forgiven a metre at either end of the interval.
        wide = SimpleNamespace(choice=lens.choice, near_m=lens.near_m - 1.0, far_m=lens.far_m + 1.0)
        held |= held_from(wide, *each.position_m, each.bearing_deg, points, np.ones(len(points), dtype=bool))
    return held


@pytest.mark.parametrize("name", ["chain", "corner pairs", "back to back"])
def test_every_metre_is_held_by_some_camera(known_reach, name):
    """Would catch spacing that leaves blind ground, a camera aimed the wrong way, a forgotten run or corner."""
    site = yard(**RING)
    kit = kit_of(site)
    layout = STRATEGIES[name](site, kit, site.requirement)
    found, _ = reaches(site, kit, site.requirement)
    assert held_by_layout(site, layout, found).all()
    long = yard(length_m=140.0)
    layout, fewer = (STRATEGIES[name](long, kit_of(long), long.requirement, stretch=stretch) for stretch in (1.0, 3.0))
    assert held_by_layout(long, layout, found).all()
    assert len(fewer) < len(layout) and not held_by_layout(long, fewer, found).all()


def test_from_buildings_looks_outward_and_holds_what_it_can(known_reach):
    site = yard(**RING)
    layout = STRATEGIES["from buildings"](site, kit_of(site), site.requirement)
    for each in layout:
        x, y = each.position_m
        assert 19.8 <= x <= 40.2 and 14.8 <= y <= 25.2, "on the hall's faces"
        ahead = np.array([math.sin(math.radians(each.bearing_deg)), math.cos(math.radians(each.bearing_deg))])
        step = np.array([x, y]) + 0.5 * ahead
        assert not (20.0 < step[0] < 40.0 and 15.0 < step[1] < 25.0), "not through the hall"
    found, _ = reaches(site, kit_of(site), site.requirement)
    assert held_by_layout(site, layout, found).mean() > 0.7


def test_spacing_follows_from_the_lens(known_reach):
    """16 m between masts for the long lens, 8 m for the wide one: as long as what each holds."""
    site = yard(length_m=70.0)
    for lens, held_m in (("long", 16.0), ("wide", 8.0)):
        layout = STRATEGIES["chain"](site, kit_of(site), site.requirement, lens=lens)
        forward = sorted(each.position_m[0] for each in layout if 0.0 < each.bearing_deg < 180.0)
        near = {"long": 8.0, "wide": 4.0}[lens]
        assert len(forward) == math.ceil((70.0 - near) / held_m)
        assert np.diff(forward)[1:].max() <= held_m + 1e-6 and len(layout) == len(forward) + 1


def test_an_interval_ends_where_pd_passes_the_requirement():
    distances = np.array([1.0, 2.0, 4.0, 8.0, 16.0])
    near, far = held_interval(distances, np.array([0.7, 0.8, 1.0, 1.0, 0.8]), 0.9)
    assert near == pytest.approx(2.0 * math.sqrt(2.0)) and far == pytest.approx(8.0 * math.sqrt(2.0))
    assert held_interval(distances, np.full(5, 0.5), 0.9) == (1.0, 1.0)
    assert held_interval(distances, np.full(5, 0.95), 0.9) == (1.0, 16.0)


def test_reach_is_that_of_the_simulation():
    """A camera set up as `reach` says holds the requirement inside the interval and not well outside it, as a site."""
    site = yard(intruder=ONE_PERSON, cameras=[camera("C1", 0.0, 1.0, 90.0, "wide")], lenses={"wide": WIDE})
    reach = best_reach(reaches(site, kit_of(site), site.requirement)[0], kit_of(site))
    middle, far = math.sqrt(reach.near_m * reach.far_m), reach.far_m
    for distance, holds in ((middle, True), (0.9 * far, True), (1.35 * far, False), (0.5 * reach.near_m, False)):
        test = yard(
            length_m=160.0,
            cameras=[camera("C1", 80.0 - distance, 0.0, 90.0, "wide", round(reach.depression_deg, 3))],
            perimeter=[{"name": "south", "points_m": [[79.5, 0.0], [80.5, 0.0]], "inside": "left"}],
            rule=[{"kind": "line", "points_m": [[0.0, 0.0], [160.0, 0.0]]}],
            intruder=ONE_PERSON,
            step_m=1.0,
        )
        pd = float(run(test, precision=0.05)["pd"].values[0, 0])
        assert (pd >= site.requirement.pd - 0.05) == holds, (distance, pd)


def test_layouts_are_sites_that_can_be_written_and_read(known_reach):
    site = yard(**RING)
    for strategy in STRATEGIES.values():
        made = with_cameras(site, strategy(site, kit_of(site), site.requirement))
        assert parse_site(site_to_toml(made)) == made
        assert all(each.price == 1400.0 or each.price == 1300.0 for each in made.camera)


def test_a_users_own_function(tmp_path, monkeypatch):
    (tmp_path / "own_layouts.py").write_text(
        "def one(site, kit, requirement, **options):\n"
        "    aim = dict(bearing_deg=90, depression_deg=12)\n"
        "    return [dict(mark='M1', position_m=[1, 1], height_m=4, sensor='core', lens='wide', **aim)]\n"
        "def none(site, kit, requirement, **options):\n    return []\n"
        "def wrong(site, kit, requirement, **options):\n    return [dict(mark='M1')]\n"
    )
    monkeypatch.chdir(tmp_path)
    site = yard()
    assert strategy_of("own_layouts:one")(site, None, site.requirement)[0].mark == "M1"
    assert strategy_of(lambda site, kit, requirement: site.camera)(site, None, site.requirement) == site.camera
    for name, words in (
        ("own_layouts:none", "returned no camera"),
        ("own_layouts:wrong", "must return cameras"),
        ("own_layouts:other", "cannot be loaded"),
        ("chian", 'did you mean "chain"'),
    ):
        with pytest.raises(UsageError, match=words):
            strategy_of(name)(site, None, site.requirement)


def test_a_class_in_which_nothing_holds_sets_no_spacing(monkeypatch):
    """Thick fog would leave no layout at all; it is named instead."""

    def invented(site, choice, heights_m, classes, seed, threads=1):
        distances = np.linspace(1.0, 40.0, 100)
        curve = [np.where(distances < (20.0 if w.name == "night" else 3.0), 0.95, 0.1) for w in classes]
        return distances, np.broadcast_to(np.array(curve)[None, None], (len(heights_m), 7, len(classes), 100))

    monkeypatch.setattr(reach_module, "pd_by_distance", invented)
    site = yard(weather=[NIGHT, {**NIGHT, "name": "thick", "hours_per_year": 10}])
    found, left_out = reaches(site, kit_of(site), site.requirement)
    assert left_out == ("thick",) and max(r.far_m for r in found) == pytest.approx(20.0, abs=0.5)
    found, left_out = reaches(site, kit_of(site), site.requirement, weather="thick")
    assert left_out == () and max(r.far_m for r in found) == pytest.approx(3.0, abs=0.5)


def test_kit_prices_and_impossible_pairs():
    fisheye = {"focal_length_mm": 0.1, "f_number": 1.0, "price": 50.0, "projection": "equidistant"}  # over 360 degrees
    site = yard(lenses={"wide": WIDE, "long": LONG, "eye": fisheye}, sensors={"core": CORE})
    kit = kit_of(site)
    assert {(c.lens, c.price) for c in kit.choices} == {("wide", 1300.0), ("long", 1400.0)}
    assert kit.swap_cost(site, "long") == 350.0 and kit.reaim_cost() == 50.0
    assert isinstance(kit.choices[0], type(kit.choices[1])) and Reach(kit.choices[0], 4.0, 10.0, 3.0, 9.0).length_m == 6.0
