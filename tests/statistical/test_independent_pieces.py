"""The parts of the independent check that the worked case does not reach, each against something simpler.

Nothing here is about the product; a slip in these parts would make the product's comparison with the independent check
fail for the wrong reason. Sources are named test by test. No random numbers except seeded ones for inputs.
"""

from pathlib import Path
from types import SimpleNamespace

import numpy as np
import pytest
from independent.air import extinctions, gas_transmission, water_vapour_g_m3, window_transmission
from independent.chain import best_confirmed, first_confirmed
from independent.lines import offset_line
from independent.look import mean_slope_weight
from independent.path import Path as Route
from independent.path import events_of, outgoing_run_m
from independent.picture import at_least, covered
from independent.quantities import Varying
from independent.scene import Scene
from independent.surfaces import cloth_temperature_c, radiance, radiance_slope
from scipy import stats
from scipy.signal import fftconvolve
from shapely.geometry import LineString, Point, Polygon

from independent import read_site, simulate

SITES = Path(__file__).parents[1] / "data" / "sites"
DRY = {
    "visibility_convention": "optical_range",
    "visibility_m": 20000.0,
    "visibility_given": False,
    "rain_mm_h": 0.0,
    "snow_mm_h": 0.0,
    "fog": "none",
    "air_temperature_c": -5.0,
}


@pytest.mark.parametrize(("p", "wanted"), [(0.5, (0.5, 0.81836, 0.97766)), (0.3, (0.16308, 0.39168, 0.67942))])
def test_sliding_three_of_five(p, wanted):
    """Catches a wrong chain. Source: the model's printed check values."""
    for looks, value in zip((5, 10, 20), wanted):
        found = first_confirmed(np.full((1, looks), p), np.ones(looks, bool), (3, 5)).sum()
        assert found == pytest.approx(value, abs=6e-6)


def test_confirmation_counts_hits_before_the_first_armed_look_and_needs_no_hit_at_the_end():
    """Catches an alarm that asks the confirming look to be a hit, or forgets earlier hits. Counted by hand."""
    hit = np.array([[1.0, 1.0, 1.0, 0.0, 0.0, 0.0]])
    armed = np.array([False, False, False, False, True, True])
    assert first_confirmed(hit, armed, (3, 5))[0].tolist() == [0, 0, 0, 0, 1, 0]
    assert best_confirmed(np.array([5.0, 4.0, 3.0, 0, 0, 0]), armed, (3, 5)) == 3.0
    assert best_confirmed(np.array([5.0, 4.0, 0, 0, 0, 3.0]), armed, (3, 5)) == 0.0


@pytest.mark.parametrize("wanted", [1, 2, 3, 6])
def test_at_least_so_many_pixels(wanted):
    """Catches a wrong Poisson-binomial. Reference: adding one pixel at a time."""
    passing = np.random.default_rng(1).random((5, 13)) ** 4
    for row, found in zip(passing, at_least(passing, wanted)):
        chance = np.zeros(14)
        chance[0] = 1.0
        for p in row:
            chance[1:] = chance[1:] * (1.0 - p) + chance[:-1] * p
            chance[0] *= 1.0 - p
        assert found == pytest.approx(chance[wanted:].sum(), abs=1e-12)


def test_blurred_interval_on_pixels():
    """Catches a wrong edge formula. Reference: fine convolution of box, Gaussian and pixel (grid of 0.005 px: 1e-3)."""
    a, b, blur, step = 3.3, 7.9, 0.6, 0.005
    grid = np.arange(-5.0, 20.0, step) + 0.5 * step
    smooth = np.exp(-0.5 * (np.arange(-800, 801) * step / blur) ** 2)
    image = fftconvolve(((grid > a) & (grid < b)).astype(float), smooth / smooth.sum(), mode="same")
    pixels = image.reshape(-1, 200).mean(axis=1)
    found = covered(np.array([[b]]), np.array([[a]]), np.array([blur]), np.array([-5.0]), 25)[0, 0]
    assert found == pytest.approx(pixels, abs=1e-3)
    assert found.sum() == pytest.approx(b - a, abs=1e-12)


def test_radiance_and_air_meet_the_printed_values():
    """Catches wrong constants. Source: the model's printed check values (radiance six digits; LOWTRAN7 points 0.0096)."""
    kelvin = np.array([-40.0, 0.0, 20.0, 40.0]) + 273.15
    assert radiance(kelvin) == pytest.approx([15.1893, 35.1520, 49.3729, 66.6132], rel=1e-5)
    assert radiance_slope(300.0) == pytest.approx(0.83782, rel=2e-5)
    points = [(-10, 0.8, 60, 0.9713), (0, 0.8, 150, 0.9410), (20, 0.9, 100, 0.9055), (30, 0.5, 150, 0.8801)]
    for t, humidity, distance, tau in points:
        assert gas_transmission(distance, water_vapour_g_m3(t, humidity)) == pytest.approx(tau, abs=0.0096)


def test_water_in_the_air_and_on_the_window():
    """Catches a wrong choice between visibility and rate, and wrong units. Source: the model's sentences and check values."""
    fog, rain, _ = extinctions(DRY | {"rain_mm_h": 10.0})
    assert fog == 0.0
    assert np.exp(-60.0 * rain) == pytest.approx(0.911, abs=6e-4)
    assert extinctions(DRY | {"snow_mm_h": 1.0})[2] == pytest.approx(1.2 * 2.996 / 796.0, rel=1e-3)
    by_sight = extinctions(DRY | {"snow_mm_h": 1.0, "visibility_given": True, "visibility_m": 300.0})
    assert by_sight == pytest.approx((0.0, 0.0, 1.2 * 2.996 / 300.0))
    both = extinctions(
        DRY | {"snow_mm_h": 1.0, "visibility_given": True, "visibility_m": 300.0, "fog": "radiation", "drop_radius_um": 6.0}
    )
    assert both[0] == pytest.approx(0.757 * 2.996 / 300.0, rel=0.01)
    assert both[2] == pytest.approx(1.2 * 2.996 / 796.0, rel=1e-3)
    for film, passed in ((5.0, 0.57), (20.0, 0.18)):
        window = {"state": "film", "film_um": film}
        assert window_transmission(window, (8.0, 14.0), mean_slope_weight) == pytest.approx(passed, abs=6e-3)


def test_clothing_meets_the_printed_checks():
    """Catches a wrong heat balance where it is wet or cold. Source: the model's printed check values (two decimals)."""
    assert cloth_temperature_c(0.0, 0.5, 0.0, 1.5, 2.0, 0.87, 0.0, 0.0, -10.0) == pytest.approx(2.46, abs=6e-3)
    assert cloth_temperature_c(5.0, 0.6, 1.0, 1.3, 1.5, 0.96, 1.0, 5.0, 3.0) - 5.0 == pytest.approx(0.02, abs=6e-3)


def test_offset_lines_are_mitred():
    """Catches a wrong mitre or side. Reference: shapely's mitred buffer of a ring with both kinds of corner."""
    ring = np.array([[0.0, 0], [10, 0], [10, 8], [6, 8], [6, 4], [0, 4], [0, 0]])
    inner = Polygon(ring).buffer(-1.0, join_style="mitre", mitre_limit=20.0)
    assert Polygon(offset_line(ring, 1.0, True)).symmetric_difference(inner).area == pytest.approx(0.0, abs=1e-9)
    opened = offset_line(np.array([[0.0, 0], [5, 0], [5, 5]]), 1.0, False)
    assert opened == pytest.approx(np.array([[0.0, 1], [4, 1], [4, 5]]))


def march(scene_footprints, eye, target, beyond):
    """Whether a ray meets a prism before (or behind) the target: steps of 2 mm, shapely for the footprints."""
    start, end = np.asarray(eye), np.asarray(target)
    length = np.hypot(*(end - start)[:2])
    span = (1.0 + 1e-3, 6.0) if beyond else (0.0, 1.0 - 1e-6)
    share = np.arange(span[0], span[1], 0.002 / length)
    points = start + share[:, None] * (end - start)
    points = points[points[:, 2] >= 0.0]
    for ring, height in scene_footprints:
        low = points[points[:, 2] < height]
        line = LineString(ring)
        if len(low) and Polygon(ring).distance(LineString([start[:2], points[-1][:2]])) < 1e-9:
            polygon = Polygon(ring)
            if any(polygon.contains(Point(p[:2])) for p in low[::5] if line.distance(Point(p[:2])) > 0.012):
                return True
    return False


def test_shadow_and_backdrop_against_marching_along_rays():
    """Catches a wrong shadow height, a forgotten roof, a wrong sense. Reference: marching along rays; near misses within
    4 cm of the edge of the shadow, where the march is coarse, are left out."""
    ring = np.array([[10.0, -3], [14, -3], [14, 0.5], [12, 2.5], [12, 3], [10, 3], [10, -3]])
    low = np.array([[20.0, -4], [26, -4], [26, 4], [20, 4], [20, -4]])
    site = SimpleNamespace(sections=[], footprints=[(ring, 2.4), (low, 0.6)])
    scene, rng, counted = Scene(site), np.random.default_rng(4), np.zeros(2, int)
    for _ in range(60):
        eye = np.array([0.0, rng.uniform(-2, 2), rng.choice([1.5, 3.5])])
        foot = np.array([rng.choice([rng.uniform(4, 9.5), rng.uniform(15, 19.5), rng.uniform(27, 34)]), rng.uniform(-4, 4)])
        z = rng.uniform(0.1, 3.0)
        shadow = scene.shadow_height_m(eye[:2], eye[2], foot[None])[0]
        target = np.append(foot, z)
        if abs(z - shadow) > 0.04:
            assert (z < shadow) == march(scene.footprints, eye, target, beyond=False)
            counted[0] += z < shadow
        found = scene.backdrop(eye[:2], eye[2], foot[None], np.array([[z]]))[0, 0]
        raised = scene.backdrop(eye[:2], eye[2], foot[None], np.array([[z - 0.03, z + 0.03]]))[0]
        if raised[0] == raised[1]:
            assert found == march(scene.footprints, eye, target, beyond=True)
            counted[1] += found
    assert np.all(counted > 5)


def test_open_barriers_by_angle_and_height():
    """Catches attenuation above the top, on the line itself, or by the wrong angle. Counted by hand."""
    site = read_site(SITES / "thaw-line.toml")
    scene, height = Scene(site), site.sections[0].height_m
    eye = np.array([10.0, 6.0])
    feet = np.array([[10.0, -6.0], [4.0, -6.0], [10.0, 0.0], [10.0, 3.0]])
    passed = scene.barrier_pass(eye, 4.0, feet, np.array([[1.0, 1.0]] * 4))
    slant = 12.0 / np.hypot(6.0, 12.0)
    assert height < 4.0 + (1.0 - 4.0) * 0.5  # over the top: nothing is taken away
    assert passed == pytest.approx(np.ones((4, 2)))
    passed = scene.barrier_pass(eye, 2.0, feet, np.array([[1.0, 2.4]] * 4))
    assert passed[0] == pytest.approx([0.7, 1.0])
    assert passed[1] == pytest.approx([1.0 - 0.3 / slant, 1.0])
    assert passed[2:] == pytest.approx(1.0)


def person(gait="walk"):
    return {"gait": gait, "stature_m": 1.7, "depth_ratio": {"walk": 0.28, "run": 0.4, "crouch": 0.25}}


def test_field_entry_dwell_and_exit_by_hand():
    """Catches a dwell counted from the wrong moment and a path that ends inside the field. Counted by hand."""
    site = read_site(SITES / "walled-yard.toml")
    scene = Scene(site)
    vertex, heading = np.array([18.0, 0.0]), np.array([0.0, 1.0])
    run = outgoing_run_m(site, scene, vertex, heading, 12.0)
    assert run == pytest.approx(21.0, abs=1e-5)
    route = Route(vertex, heading, heading, 12.0, run, 2.0, 1.0, 0.0, 2.0, person())
    field = [event for event in events_of(site, route) if event.cameras == ["A", "B"]]
    assert [(e.armed_s, e.from_s, e.to_s) for e in field] == [pytest.approx((8.5, 10.0, 17.5), abs=1e-5)]
    line = [event for event in events_of(site, route) if event.cameras == ["A", "B", "C"]]
    assert [(e.armed_s, e.from_s, e.to_s) for e in line] == [pytest.approx((7.5, 6.5, 8.5))]


def test_a_rule_on_the_barrier_is_crossed_at_the_top_of_the_climb():
    """Catches t_c at arrival, a lost climb or a pause after it. Counted by hand: 10 m at 2 m/s, 3 s pause, 4 s climb."""
    site = read_site(SITES / "thaw-line.toml")
    vertex, heading, out = np.array([5.0, 0.0]), np.array([0.0, 1.0]), np.array([0.6, 0.8])
    route = Route(vertex, heading, out, 10.0, 10.0, 2.0, 3.0, 4.0, 2.0, person("crawl"))
    (event,) = events_of(site, route)
    assert (event.armed_s, event.from_s) == pytest.approx((10.0, 8.8))
    pose = route.pose_at(np.array([6.0, 9.0, 10.5, 13.0]))
    assert pose.foot_z == pytest.approx([0.0, 1.0, 1.5, 0.0])
    assert pose.box[:, 2] == pytest.approx([0.5, 1.7, 1.7, 0.5])
    assert pose.velocity[:, 2] == pytest.approx([0.0, 1.0, -1.0, 0.0])
    assert pose.heading == pytest.approx(np.array([heading, heading, out, out]))
    assert pose.foot[3] == pytest.approx(vertex + 2.0 * out)


@pytest.mark.parametrize(
    ("written", "reference"),
    [
        ({"dist": "normal", "mean": 2.0, "sd": 1.0, "low": 1.5, "high": 4.0}, stats.truncnorm(-0.5, 2.0, 2.0, 1.0)),
        ({"dist": "lognormal", "median": 70.0, "sigma_ln": 0.3}, stats.lognorm(0.3, scale=70.0)),
        ({"dist": "triangular", "low": 1.0, "mode": 2.0, "high": 5.0}, stats.triang(0.25, 1.0, 4.0)),
        ({"dist": "uniform", "low": 1.0, "high": 4.0}, stats.uniform(1.0, 3.0)),
    ],
)
def test_distributions(written, reference):
    """Catches a clipped instead of truncated normal, a wrong parameter. Reference: scipy.stats."""
    for share in (0.01, 0.3, 0.5, 0.97):
        assert Varying(written).at(share) == pytest.approx(reference.ppf(share), rel=1e-9)


@pytest.mark.parametrize(
    ("name", "weather"), [("walled-yard", "warm dusk"), ("thaw-line", "thaw fog"), ("roof-corner", "mild night")]
)
def test_the_other_sites_run_and_their_ladder_descends(name, weather):
    """Catches a crash in features of the other sites, and V >= R >= B >= Pd broken in any average."""
    site = read_site(SITES / f"{name}.toml")
    for segment in range(0, len(site.segments), 5):
        found = simulate(site, weather, segment, 8, np.random.default_rng(segment))
        if site.segments[segment][0].name == "bank":
            assert np.isnan(found["pd"])
            continue
        assert 0.0 <= found["pd"] <= 1.0
        assert min(found["miss_share"].values()) > -1e-6
        assert found["pd"] >= max(value for value, _ in found["pd_camera"].values()) - 1e-4
