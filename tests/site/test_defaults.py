"""Defaults of the site file, and what depends on other keys."""

import math

import pytest
from small_sites import least

from fencecast.site import Quantity


def test_defaults():
    """Source: the contract's table of keys. Would catch a default that drifted."""
    site = least()
    assert (site.schema_version, site.seed, site.units) == (2, 0, "si")
    assert (site.requirement.pd, site.requirement.confidence) == (0.90, 0.95)
    assert (site.site.segment_length_m, site.site.latitude, site.site.longitude) == (2.0, None, None)
    fence = site.perimeter[0]
    assert (fence.closed, fence.barrier, fence.barrier_height_m, fence.gates) == (False, "none", 2.4, ())
    assert site.obstacle == ()
    core = site.sensors["core"]
    assert (core.netd_f_number, core.netd_spread, core.fixed_pattern) == (None, 0.10, 0.5)
    assert (core.time_constant_ms, core.frame_rate_hz, core.band_um) == (10.0, 25.0, (8.0, 14.0))
    wide = site.lenses["wide"]
    assert (wide.projection, wide.transmission, wide.aberration_px) == ("rectilinear", 1.0, 0.3)
    assert (site.camera[0].price, site.camera[0].depends_on) == (None, None)
    rule = site.rule[0]
    assert (rule.offset_m, rule.direction, rule.time_window_s, rule.dwell_s, rule.points_m) == (0.0, "inward", 1.0, 0.0, None)
    decision = site.decision
    fixed = Quantity.fixed
    assert (decision.threshold_sigma, decision.min_pixels, decision.cycles_50) == (fixed(5.0), 3, fixed(2.0))
    assert (decision.encounter_correlation, decision.looks_per_s, decision.confirm) == (fixed(0.5), 5.0, (3, 5))
    assert decision.clutter_factor == fixed(1.0)
    assert (site.tolerance.bearing_deg, site.tolerance.depression_deg, site.tolerance.height_m) == (0.0, 0.0, 0.0)
    weather = site.weather[0]
    assert weather.wind_m_s == Quantity.fixed(1.0) and weather.visibility_m == Quantity.fixed(20_000.0)
    assert weather.rain_mm_h == weather.snow_mm_h == weather.wetness == Quantity.fixed(0.0)
    assert weather.clutter_k == Quantity.fixed(0.1) and weather.drop_radius_um is None
    assert (weather.visibility_convention, weather.fog, weather.sky) == ("optical_range", "none", "clear")
    assert (weather.front_window.state, weather.front_window.share, weather.front_window.film_um) == ("dry", None, None)


def test_intruder_defaults():
    """Source: the model's table of gaits and its list of drawn variables."""
    who = least().intruder
    assert who.gaits == {"walk": 0.45, "run": 0.20, "crouch": 0.20, "crawl": 0.10, "flat_crawl": 0.05}
    assert who.speed_m_s == {
        "walk": Quantity.normal(1.3, 0.25, 0.3),
        "run": Quantity.normal(4.5, 1.0, 1.5),
        "crouch": Quantity.normal(0.8, 0.2, 0.2),
        "crawl": Quantity.normal(0.8, 0.15, 0.2),
        "flat_crawl": Quantity.normal(0.3, 0.08, 0.1),
    }
    assert who.depth_ratio == {"walk": 0.28, "run": 0.40, "crouch": 0.25}
    assert who.stature_m == Quantity.normal(1.69, 0.10, 1.45, 2.00)
    assert who.clothing_emissivity == Quantity.uniform(0.82, 0.92)
    assert who.bare_head_share == Quantity.uniform(0.0, 0.5)
    assert who.approach_angle_deg == Quantity.uniform(-30.0, 30.0)
    assert who.turn_deg == who.pause_s == Quantity.fixed(0.0)
    assert who.clo is None and who.climb_s is None and who.path_m == 12.0


def test_defaults_are_not_shared_between_sites():
    """Would catch one dictionary for all sites: what a program writes into one would change the next."""
    least().intruder.gaits["walk"] = 99.0
    assert least().intruder.gaits["walk"] == 0.45


def test_gaits_left_out_have_no_share_and_speeds_left_out_keep_theirs():
    site = least(("[[weather]]", "[intruder]\ngaits = { run = 1 }\nspeed_m_s = { run = 5 }\n[[weather]]"))
    assert site.intruder.gaits == {"walk": 0.0, "run": 1.0, "crouch": 0.0, "crawl": 0.0, "flat_crawl": 0.0}
    assert site.intruder.speed_m_s["run"] == Quantity.fixed(5.0)
    assert site.intruder.speed_m_s["walk"] == Quantity.normal(1.3, 0.25, 0.3)


@pytest.mark.parametrize(("barrier", "share"), [("none", 1.0), ("mesh", 0.85), ("palisade", 0.60), ("wall", 0.0)])
def test_open_share_goes_by_kind(barrier, share):
    """Common practice, no source."""
    assert least(('inside = "left"', f'inside = "left"\nbarrier = "{barrier}"')).perimeter[0].barrier_open_share == share


def test_given_open_share_is_kept():
    site = least(('inside = "left"', 'inside = "left"\nbarrier = "mesh"\nbarrier_open_share = 0.0'))
    assert site.perimeter[0].barrier_open_share == 0.0


@pytest.mark.parametrize(
    ("given", "found"),
    [
        ("", "cos4"),
        ('projection = "rectilinear"', "cos4"),
        ('projection = "equidistant"', "flat"),
        ('projection = "equidistant"\nrelative_illumination = "cos4"', "cos4"),
    ],
)
def test_relative_illumination_goes_by_projection(given, found):
    assert least(("f_number = 1", f"f_number = 1\n{given}")).lenses["wide"].relative_illumination == found


def test_rules_watch_with_all_cameras_unless_told():
    second = '[[camera]]\nmark = "C2"\nposition_m = [9, 1]\nheight_m = 4\naim_m = [1, 1]\nsensor = "core"\nlens = "wide"\n'
    rules = '[[rule]]\nkind = "line"\nperimeter = "fence"\ncameras = ["C2"]\n'
    site = least(("[[rule]]", second + rules + "[[rule]]"))
    assert [rule.cameras for rule in site.rule] == [("C2",), ("C1", "C2")]


def test_visibility_given_or_not():
    """Snow goes by its rate only when the user gave no visibility: the default must not look like an answer."""
    assert not least().weather[0].visibility_given
    assert least(("relative_humidity", "visibility_m = 20000\nrelative_humidity")).weather[0].visibility_given


# ------------------------------------------------------------------------------------------------ aims


@pytest.mark.parametrize(
    ("aim", "bearing", "depression"),
    [
        ("[4, 1]", 90.0, 45.0),
        ("[-4, 1]", 270.0, 45.0),
        ("[0, 5]", 0.0, 45.0),
        ("[0, -3]", 180.0, 45.0),
        ("[3, 4]", 45.0, math.degrees(math.atan2(4, 3 * math.sqrt(2)))),
    ],
)
def test_aim_becomes_bearing_and_depression(aim, bearing, depression):
    """Closed form: from (0, 1), 4 m up. Would catch a bearing from east or a depression from the vertical."""
    camera = least(("bearing_deg = 90\ndepression_deg = 14", f"aim_m = {aim}")).camera[0]
    assert camera.bearing_deg == pytest.approx(bearing) and camera.depression_deg == pytest.approx(depression)
    assert camera.aim_m is None and {"bearing_deg", "depression_deg"} <= camera.model_fields_set
