"""The cover engine against the kernel's own functions, and against itself turned, shifted and taken apart."""

from __future__ import annotations

import math

import numpy as np
import pytest

import fencecast as fc
from fencecast.kernels.pack import pack_scene
from fencecast.kernels.sight import shadow_height_m
from fencecast.physics import discrimination, optics
from fencecast.review import cycles
from fencecast.review.cover import camera_cycles, cover, geometric_metres, paths_of, unheard_help
from fencecast.review.noise import noise_alarms_a_day
from fencecast.review.optics import Eye, eyes_of, hiders_of, shadow_m
from review.yards import CONFIGS, A, B, base, box, camera, fence


@pytest.mark.parametrize("projection", [optics.RECTILINEAR, optics.EQUIDISTANT])
def test_points_fall_where_the_kernel_s_lens_puts_them(projection):
    """Catches: a sign, a swapped axis, another limit of the lens. Reference: the compiled projection."""
    random = np.random.default_rng(3)
    eye = Eye("A", 3.0, -2.0, 4.5, math.radians(70.0), math.radians(17.0), 300.0, projection, 160, 120)
    x, y, z = random.uniform(-40, 40, 4000), random.uniform(-40, 40, 4000), random.uniform(0, 9, 4000)
    u, v, mapped = eye.image_of(x, y, z)
    axes = optics.camera_axes(eye.bearing_rad, eye.depression_rad, eye.roll_rad)
    for k in range(len(x)):
        d = (x[k] - eye.x_m, y[k] - eye.y_m, z[k] - eye.height_m)
        along = [sum(d[i] * axes[part + i] for i in range(3)) for part in (0, 3, 6)]
        u0, v0, ok = optics.project(*along, eye.focal_px, projection)
        assert bool(mapped[k]) == ok
        if ok:
            assert (u[k], v[k]) == pytest.approx((u0, v0), rel=1e-9, abs=1e-7)


def test_shadows_are_the_kernel_s():
    """Catches: a near edge taken for a far one, a wall that hides who stands on it. Reference: the compiled shadow height."""
    obstacles = [
        box(4, 6, 12, 9, 3.0, name="low"),
        box(16, 5, 19, 14, 8.0, name="high"),
        {"name": "notched", "footprint_m": [[22, 6], [30, 6], [30, 12], [27, 12], [27, 8], [24, 8]], "height_m": 5.0},
    ]
    sections = [fence(barrier="none"), fence(((0, 16), (30, 18)), "wall", barrier="wall", barrier_height_m=2.2)]
    site = base(sections=sections, obstacles=obstacles)
    scene, hiders, random = pack_scene(site), hiders_of(site), np.random.default_rng(5)
    x, y = random.uniform(-5, 40, 3000), random.uniform(-5, 25, 3000)
    hidden = 0
    for eye in [*eyes_of(site), *(e for e in eyes_of(base(cameras=[camera("C", [15.0, 3.0], 0.0, height_m=6.0)])))]:
        ours = shadow_m(eye, hiders, x, y)
        kernel = [shadow_height_m(scene, eye.x_m, eye.y_m, eye.height_m, a, b) for a, b in zip(x, y)]
        assert ours == pytest.approx(kernel, rel=1e-9, abs=1e-9)
        hidden += int((ours > 0.0).sum())
    assert hidden > 1000


def test_a_fence_looked_along_flat_is_a_wall():
    """Catches: a camera that looks through 30 m of mesh edge-on. 1 - 0.15 / cos reaches 0.02 at 81.2 degrees off the normal."""
    site = base(cameras=[camera("C", [0.0, 2.0], 90.0)])
    eye, hiders = eyes_of(site)[0], hiders_of(site)
    limit = 2.0 * math.tan(math.acos(0.15 / 0.98))  # metres along a fence 2 m from the lens
    along = np.array([limit - 0.3, limit + 0.3])
    shadow = shadow_m(eye, hiders, along, np.full(2, -1e-3))
    assert shadow[0] == 0.0 and shadow[1] > 2.0


@pytest.mark.parametrize(("mark", "distance", "gait"), [("A", 12.0, "walk"), ("A", 25.0, "crouch"), ("B", 20.0, "crawl")])
def test_cycles_are_those_of_explain(mark, distance, gait):
    """Catches: another rectangle of the body than the simulation's. Reference: `explain` at a seen share of 1."""
    site = base()
    told = fc.explain(site, mark, "clear night", distance, gait)
    eye = next(e for e in eyes_of(site) if e.mark == mark)
    walker = next(w for w, _ in cycles.walkers_of(site) if cycles.GAITS[w.gait] == gait)
    sb, cb = math.sin(eye.bearing_rad), math.cos(eye.bearing_rad)
    foot = (np.array([eye.x_m + distance * sb]), np.array([eye.y_m + distance * cb]), np.zeros(1))
    n, share = cycles.look(
        eye, hiders_of(base(sections=[fence(barrier="none")])), foot, np.array([[cb, -sb]]), walker.size_m(False)
    )
    assert share[0] == 1.0
    assert n[0] == pytest.approx(0.5 * math.sqrt(told["pixels_wide"] * told["pixels_tall"]), rel=1e-9)


def test_the_curve_and_its_inverse_are_the_kernel_s():
    ratios = np.array([0.0, 0.3, 0.9, 1.0, 1.75, 3.0, 6.0])
    expected = [discrimination.discrimination_probability(x) for x in ratios]
    assert cycles.probability(ratios) == pytest.approx(expected, abs=1e-12)
    for pd in (0.1, 0.5, 0.9, 0.99):
        assert cycles.ratio_of(pd) == pytest.approx(discrimination.discrimination_ratio(pd), rel=1e-9)
    # By hand: two cycles at 50 % and 1.7503 times that at 90 %.
    assert cover(base()).needed_cycles == pytest.approx(3.5006, abs=1e-4)


@pytest.mark.parametrize(("sigma", "m", "n"), [(2.8, 3, 5), (3.5, 1, 1), (2.0, 2, 8), (40.0, 3, 5)])
def test_noise_alarms_are_those_of_the_compiled_formula(sigma, m, n):
    expected = discrimination.noise_alarms_per_day(160 * 120, 5.0, 3, sigma, m, n)
    assert noise_alarms_a_day(160 * 120, 5.0, 3, sigma, m, n) == pytest.approx(expected, rel=1e-9)


def test_effective_cycles_by_brute_force():
    """Catches: the largest instead of the m-th largest, looks of two windows taken together."""
    random = np.random.default_rng(1)
    looks = random.uniform(0, 10, (50, 14))
    for m, n in ((3, 5), (1, 1), (2, 8), (8, 8)):
        brute = [max(sorted(row[k : k + n], reverse=True)[m - 1] for k in range(len(row) - n + 1)) for row in looks]
        assert cycles.effective_cycles(looks, m, n) == pytest.approx(brute)
    assert list(cycles.effective_cycles(looks[:, :2], 3, 5)) == [0.0] * 50
    assert cycles.effective_cycles(looks[:, :4], 3, 5) == pytest.approx([sorted(row[:4])[1] for row in looks])


@pytest.mark.parametrize("name", ["estuary-yard", "gap-under-mast", "one-camera"])
def test_asking_only_near_cameras_leaves_nothing_out(name, monkeypatch):
    """Catches: a place that a camera resolves and is never asked about."""
    site = fc.load_site(CONFIGS / f"{name}.toml")
    quick = cover(site)
    monkeypatch.setattr("fencecast.review.cover.near_enough", lambda eye, side, point, *rest: np.ones(len(point), dtype=bool))
    full = cover(site)
    # Where no camera was asked, nobody makes out anything: less than 0.3 of N50, a chance of 2 %.
    assert np.abs(full.cycles - quick.cycles).max() <= 0.3 * quick.cycles_50
    assert quick.ceiling == pytest.approx(full.ceiling, abs=0.02)
    assert (quick.resolves == full.resolves).all()


def test_walking_outwards_is_the_mirror_of_walking_inwards():
    """Catches: looks taken before the fence that belong behind it. With the line on the fence and no climb both are alike."""
    rows = []
    for direction in ("inward", "outward"):
        rule = {"kind": "line", "perimeter": "fence", "direction": direction}
        site = base(sections=[fence(barrier="none")], rules=[rule], a={"bearing_deg": 90.0, "position_m": [-5.0, 0.0]})
        rows.append(cover(site).cycles[:, 0])
    assert rows[0] == pytest.approx(rows[1], rel=0.02)


def test_a_shifted_and_turned_site_has_the_same_cover():
    """Catches: a bearing that is not turned with the site, a coordinate that is taken for a distance."""
    turn, shift = math.radians(37.0), np.array([310.0, -120.0])

    def moved(point):
        x, y = point
        return [
            float(x * math.cos(turn) + y * math.sin(turn) + shift[0]),
            float(-x * math.sin(turn) + y * math.cos(turn) + shift[1]),
        ]

    stack = box(10, 3, 14, 6, 3.0)
    site = base(obstacles=[stack])
    cameras = [c | {"position_m": moved(c["position_m"]), "bearing_deg": (c["bearing_deg"] + 37.0) % 360.0} for c in (A, B)]
    other = base(
        cameras=cameras,
        sections=[fence([moved(p) for p in ((0.0, 0.0), (30.0, 0.0))])],
        rules=[{"kind": "line", "points_m": [moved([-3.0, 0.5]), moved([33.0, 0.5])]}],
        obstacles=[stack | {"footprint_m": [moved(p) for p in stack["footprint_m"]]}],
    )
    one, two = cover(site), cover(other)
    assert two.cycles == pytest.approx(one.cycles, rel=1e-6, abs=1e-6)
    assert two.ceiling == pytest.approx(one.ceiling, abs=1e-6)
    found = [[(f.id, f.object, round(f.value, 6)) for f in fc.check(s).findings] for s in (site, other)]
    assert found[0] == found[1]


def test_findings_do_not_change_when_a_rule_is_split_or_tables_are_reordered():
    """Catches: places judged rule by rule, although any of several rules may raise the alarm; an order that counts."""
    site = base(a={"position_m": [0.0, 1.5]})
    split = base(
        cameras=[B, A | {"position_m": [0.0, 1.5]}],
        rules=[
            {"kind": "line", "points_m": [[16.0, 0.5], [33.0, 0.5]]},
            {"kind": "line", "points_m": [[-3.0, 0.5], [17.0, 0.5]]},
        ],
    )
    rows = [sorted((f.id, f.object, round(f.value, 9)) for f in fc.check(s).findings) for s in (site, split)]
    assert rows[0] == rows[1]


def test_geometric_metres_by_hand():
    """Camera A alone from the fence's end: feet from 9.587 m on, waist from 7.190, head from 5.273, places by their middles."""
    site = base(cameras=[A | {"position_m": [0.0, 0.5], "bearing_deg": 90.0}])
    rows = {m.height: m for m in geometric_metres(cover(site))}
    assert [rows[name].one_m for name in ("feet", "waist", "head")] == [20.5, 23.0, 24.5]
    assert [rows[name].two_m for name in ("feet", "waist", "head")] == [0.0, 0.0, 0.0]
    assert rows["feet"].whole_m == 30.0
    both = {m.height: m for m in geometric_metres(cover(base()))}
    assert both["waist"].one_m == 30.0 and 20.0 < both["waist"].two_m <= 30.0


def test_a_camera_that_the_rule_does_not_hear_does_not_count_for_the_ceiling():
    site = base(rules=[{"kind": "line", "points_m": [[-3.0, 0.5], [33.0, 0.5]], "cameras": ["A"]}])
    found = cover(site)
    assert found.ceiling == pytest.approx(cover(base(cameras=[A])).ceiling, abs=1e-12)
    assert found.resolves[:, 1].any() and not found.heard[:, 1].any()


def test_two_cameras_on_one_post_count_as_the_better():
    """Catches: a mast with two cameras that is taken for two opinions (posts within 2 m)."""
    near = cover(base(cameras=[A, A | {"mark": "A2", "position_m": [-5.0, 3.0]}], decision={"cycles_50": 4.0}))
    lone = cover(base(cameras=[A], decision={"cycles_50": 4.0}))
    other = cover(base(cameras=[A | {"mark": "A2", "position_m": [-5.0, 3.0]}], decision={"cycles_50": 4.0}))
    assert near.gait_ceiling == pytest.approx(np.maximum(lone.gait_ceiling, other.gait_ceiling), abs=1e-12)


def test_a_camera_asked_by_itself_is_the_one_in_the_cover():
    site = base()
    whole = cover(site)
    paths = paths_of(site, whole.places, whole.samples)
    m, n = site.decision.confirm
    alone = camera_cycles(site, whole.eyes[0], whole.hiders, paths, whole.walkers[0][0], whole.samples.point, m, n)
    assert (alone == whole.cycles[:, 0, 0]).all()


def test_posts_are_the_kernel_s():
    """Catches: chains that are not joined. Reference: the packing of the simulation."""
    from fencecast.kernels.pack_inputs import SAME_POST_M, posts_of
    from fencecast.review import cover as ours

    random = np.random.default_rng(2)
    at = np.vstack([random.uniform(0, 12, (30, 2)), [[50.0, 0.0], [52.0, 0.0], [54.0, 0.0], [56.1, 0.0]]])
    eyes = [Eye(str(k), x, y, 4.0, 0.0, 0.2, 300.0, 0, 160, 120) for k, (x, y) in enumerate(at)]
    assert ours.SAME_POST_M == SAME_POST_M
    assert (ours.posts_of(eyes) == posts_of(at)).all()


def test_what_a_rule_could_hear_at_no_cost_on_the_demo():
    """The demo's fourth rule (west) misses T4, its second (east) T5; each has the far corner in its picture."""
    found = cover(fc.load_site(CONFIGS / "estuary-yard.toml"))
    named = {rule + 1: [found.eyes[c].mark for c in cameras] for rule, cameras in unheard_help(found).items()}
    assert named[4] == ["T4"] and named[2] == ["T5"]
