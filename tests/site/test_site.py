"""The site as an object: defaults, what depends on other keys, units, round trips, and the files that the package ships."""

import hashlib
import math
import pickle
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from pydantic import ValidationError

import fencecast
from fencecast.errors import InputError
from fencecast.site import Quantity, Site, load_site, parse_site, site_to_toml
from fencecast.site.geometry import cut_segments, section_length_m
from fencecast.site.schema import Camera, Sensor

TESTS = Path(__file__).parent.parent
EXAMPLES = sorted((Path(fencecast.__file__).parent / "examples").glob("*.toml"))
WORKED_CASE = TESTS / "data" / "worked-case" / "site.toml"

LEAST = """
schema = 1
title = "Least"
[site]
ground = "gravel"
[[perimeter]]
name = "fence"
points_m = [[0, 0], [48, 0]]
inside = "left"
[sensors.core]
columns = 160
rows = 120
pitch_um = 17
netd_mk = 50
[lenses.wide]
focal_length_mm = 3
f_number = 1
[[camera]]
mark = "C1"
position_m = [0, 1]
height_m = 4
bearing_deg = 90
depression_deg = 14
sensor = "core"
lens = "wide"
[[rule]]
kind = "line"
perimeter = "fence"
[[weather]]
name = "clear"
hours_per_year = 3000
air_temperature_c = 5
relative_humidity = 0.75
ground_minus_air_k = -2
"""


def least(*changes):
    text = LEAST
    for old, new in changes:
        assert old in text
        text = text.replace(old, new, 1)
    return parse_site(text)


# ------------------------------------------------------------------------------------------------ defaults


def test_defaults():
    """Source: the contract's table of keys. Would catch a default that drifted."""
    site = least()
    assert (site.schema_version, site.seed, site.units) == (1, 0, "si")
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
    assert (site.camera[0].price, site.camera[0].service) == (None, None)
    rule = site.rule[0]
    assert (rule.offset_m, rule.direction, rule.window_s, rule.dwell_s, rule.points_m) == (0.0, "inward", 1.0, 0.0, None)
    decision = site.decision
    assert (decision.threshold_sigma, decision.min_pixels, decision.cycles_50) == (5.0, 3, 2.0)
    assert (decision.encounter_correlation, decision.looks_per_s, decision.confirm) == (0.5, 5.0, (3, 5))
    assert (site.tolerance.bearing_deg, site.tolerance.depression_deg, site.tolerance.height_m) == (0.0, 0.0, 0.0)
    weather = site.weather[0]
    assert weather.wind_m_s == Quantity.fixed(1.0) and weather.visibility_m == Quantity.fixed(20_000.0)
    assert weather.rain_mm_h == weather.snow_mm_h == weather.wetness == Quantity.fixed(0.0)
    assert weather.clutter_k == Quantity.fixed(0.1) and weather.drop_radius_um is None
    assert (weather.visibility_convention, weather.fog, weather.sky) == ("optical_range", "none", "clear")
    assert (weather.window.state, weather.window.share, weather.window.film_um) == ("dry", None, None)


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


# ------------------------------------------------------------------------------------------------ units, rings


def test_lengths_with_units_everywhere():
    """Would catch a key whose text is read in another unit than its name says."""
    site = least(
        ("height_m = 4", 'height_m = "14 ft"'),
        ("[[0, 0], [48, 0]]", '[[0, "1 yd"], ["100 ft", "36 in"]]'),
        ("focal_length_mm = 3", 'focal_length_mm = "0.5 in"'),
        ("pitch_um = 17", 'pitch_um = "0.017 mm"'),
        ("air_temperature_c = 5", 'air_temperature_c = "41 F"'),
        ("ground_minus_air_k = -2", 'ground_minus_air_k = "-3.6 F"'),
        ('ground = "gravel"', 'ground = "gravel"\nsegment_length_m = "10 ft"'),
    )
    assert site.camera[0].height_m == 4.2672
    assert site.perimeter[0].points_m == ((0.0, 0.9144), (30.48, 0.9144))
    assert site.lenses["wide"].focal_length_mm == 12.7 and site.sensors["core"].pitch_um == 17.0
    assert site.weather[0].air_temperature_c == Quantity.fixed(5.0)
    assert site.weather[0].ground_minus_air_k == Quantity.fixed(-2.0)
    assert site.site.segment_length_m == 3.048


def test_a_repeated_last_point_of_a_ring_is_dropped():
    ring = "[[0, 0], [9, 0], [9, 9], [0, 9], [0, 0]]"
    site = least(
        ('[[0, 0], [48, 0]]\ninside = "left"', f'{ring}\ninside = "left"\nclosed = true'),
        ("[sensors.core]", f'[[obstacle]]\nname = "hut"\nheight_m = 3\nfootprint_m = {ring}\n[sensors.core]'),
    )
    square = ((0.0, 0.0), (9.0, 0.0), (9.0, 9.0), (0.0, 9.0))
    assert site.perimeter[0].points_m == square and site.obstacle[0].footprint_m == square
    assert section_length_m(site.perimeter[0]) == 36.0


def test_limits_themselves_are_allowed():
    """Would catch a limit that is off by its own edge."""
    site = least(
        ("height_m = 4", "height_m = 60"),
        ("hours_per_year = 3000", "hours_per_year = 8784"),
        ("[[weather]]", "[decision]\nencounter_correlation = 0.9\nconfirm = [8, 8]\nlooks_per_s = 25\n[[weather]]"),
        ("relative_humidity = 0.75", "relative_humidity = 1"),
        ('name = "clear"', f'name = "{"x" * 60}"'),
        ('inside = "left"', 'inside = "left"\ngates = [{ name = "all", from_m = 0, to_m = 48 }]'),
    )
    assert site.decision.confirm == (8, 8) and site.perimeter[0].gates[0].to_m == 48.0


def test_triangles_are_shapes():
    """Would catch a fewest number of points that is off by one."""
    triangle = "[[0, 0], [9, 0], [9, 9]]"
    site = least(
        ("[sensors.core]", f'[[obstacle]]\nname = "hut"\nheight_m = 3\nfootprint_m = {triangle}\n[sensors.core]'),
        ("[[rule]]", '[[rule]]\nkind = "field"\npoints_m = [[0, 0], [9, 0], [9, 9], [0, 0]]\n[[rule]]'),
        ('[[0, 0], [48, 0]]\ninside = "left"', f'{triangle}\ninside = "left"\nclosed = true'),
    )
    assert len(site.obstacle[0].footprint_m) == 3


def test_a_ring_of_a_line_may_run_either_way():
    """A line's own points say by their order which side is inside: a clockwise ring arms what leaves it, and may grow freely."""
    ring = "points_m = [[0, 0], [0, 9], [9, 9], [9, 0], [0, 0]]\noffset_m = 7"
    assert least(('perimeter = "fence"', ring)).rule[0].offset_m == 7.0


def test_gates_may_touch():
    two = 'gates = [{ name = "a", from_m = 1, to_m = 3 }, { name = "b", from_m = 3, to_m = 5 }]'
    assert len(least(('inside = "left"', f'inside = "left"\n{two}')).perimeter[0].gates) == 2


def test_cameras_may_hang_on_walls_and_stand_on_roofs():
    """On the face of a tall building and on top of a lower one are usual places; inside a taller one is none."""
    hut = '[[obstacle]]\nname = "hut"\nheight_m = {}\nfootprint_m = [[0, 0], [9, 0], [9, 9], [0, 9]]\n[sensors.core]'
    assert least(("[sensors.core]", hut.format(9))).camera[0].mark == "C1"
    least(("[sensors.core]", hut.format(4)), ("position_m = [0, 1]", "position_m = [5, 5]"))
    with pytest.raises(InputError, match='a place outside obstacle "hut", which is 4.1 m tall'):
        least(("[sensors.core]", hut.format(4.1)), ("position_m = [0, 1]", "position_m = [5, 5]"))


# ------------------------------------------------------------------------------------------------ the object


def test_a_site_cannot_be_changed():
    site = least()
    for thing, key in ((site, "title"), (site.camera[0], "height_m"), (site.decision, "confirm")):
        with pytest.raises(ValidationError, match="frozen"):
            setattr(thing, key, 1)


def test_text_and_hash_are_those_of_the_file(tmp_path):
    """The hash is the one that a checksum program gives for the file."""
    path = tmp_path / "site.toml"
    content = "\n# Größe\n".encode() + LEAST.encode()
    path.write_bytes(content)
    site = load_site(path)
    assert site.text == content.decode() and site.sha256 == hashlib.sha256(content).hexdigest()
    assert parse_site(LEAST).text == LEAST and parse_site(LEAST).sha256 == hashlib.sha256(LEAST.encode()).hexdigest()


def python_site(**changes):
    keys = {
        "title": "Built",
        "site": {"ground": "gravel"},
        "perimeter": [{"name": "fence", "points_m": [(0, 0), (48, 0)], "inside": "left"}],
        "sensors": {"core": {"columns": 160, "rows": 120, "pitch_um": 17, "netd_mk": 50}},
        "lenses": {"wide": {"focal_length_mm": 3, "f_number": 1}},
        "camera": [{"mark": "C1", "position_m": (0, 1), "height_m": 4, "aim_m": (16, 1), "sensor": "core", "lens": "wide"}],
        "rule": [{"kind": "line", "perimeter": "fence"}],
        "weather": [
            {
                "name": "clear",
                "hours_per_year": 3000,
                "air_temperature_c": Quantity.normal(5, 2),
                "relative_humidity": {"dist": "uniform", "low": 0.7, "high": 0.9},
                "ground_minus_air_k": -2,
            }
        ],
    }
    return Site(**(keys | changes))


def test_a_site_built_in_python_carries_a_text_that_gives_it_back():
    site = python_site()
    assert parse_site(site.text) == site and site.sha256 == hashlib.sha256(site.text.encode()).hexdigest()
    assert site.weather[0].air_temperature_c == Quantity.normal(5.0, 2.0)


def test_tables_of_one_site_build_another():
    """What comparisons need: take a site's tables, change one, and all checks and dependent defaults run again."""
    site = least()
    tables = {name: getattr(site, name) for name in type(site).model_fields if name != "schema_version"}
    assert Site(**tables) == site
    moved = site.camera[0].model_copy(update={"mark": "C2", "position_m": (40.0, 1.0)})
    both = Site(**(tables | {"camera": (*site.camera, moved)}))
    assert both.rule[0].cameras == ("C1", "C2")  # the rule named none, so the new camera watches too
    with pytest.raises(InputError, match='camera "C1" lens = "wide"'):
        Site(**(tables | {"lenses": {"long": site.lenses["wide"]}}))


def test_python_and_file_report_alike():
    with pytest.raises(InputError) as caught:
        python_site(titel="x", seed=-1)
    assert str(caught.value) == (
        'the site: 2 problems\n  1. titel = "x" is not a known key: did you mean title?\n'
        "  2. seed = -1 is not allowed: a whole number from 0 to 9223372036854775807; type for instance seed = 7"
    )


def test_sites_survive_pickling_and_compare_by_their_tables():
    site = least()
    again = pickle.loads(pickle.dumps(site))
    assert again == site and again.text == LEAST
    assert site == parse_site("# another text\n" + LEAST) and site != python_site()
    assert site != least(("height_m = 4", "height_m = 5"))


def test_equal_sites_tell_the_same_about_visibility():
    """A visibility that was given changes how snow is taken, so a site that has it is another site."""
    assert least() != least(("relative_humidity", "visibility_m = 20000\nrelative_humidity"))


# ------------------------------------------------------------------------------------------------ round trips


@pytest.mark.parametrize(
    "path", [*EXAMPLES, WORKED_CASE, TESTS / "config" / "base.toml"], ids=lambda path: f"{path.parent.name}/{path.stem}"
)
def test_round_trip_of_files(path):
    """Would catch a key that is not written, or written in another unit or precision."""
    site = load_site(path)
    again = parse_site(site_to_toml(site))
    assert again == site
    assert site_to_toml(again) == site_to_toml(site)


number = st.floats(min_value=0.01, max_value=0.99)
quantity = st.one_of(
    number,
    st.tuples(number, number).filter(lambda p: p[0] < p[1]).map(lambda p: {"dist": "uniform", "low": p[0], "high": p[1]}),
    st.builds(lambda v, w: {"dist": "choice", "values": v, "weights": w}, *[st.lists(number, min_size=3, max_size=3)] * 2),
    st.builds(lambda m, s: {"dist": "normal", "mean": m, "sd": s, "low": 0.0, "high": 1.0}, number, number),
    st.builds(lambda m: {"dist": "triangular", "low": 0.0, "mode": m, "high": 1.0}, number),
)
name = st.text(st.characters(codec="utf-8", exclude_categories=("C", "Z")), min_size=1, max_size=9)


@settings(deadline=None, max_examples=100)
@given(
    quantity, quantity, name, name, name, st.floats(min_value=0.001, max_value=59.0), st.sampled_from(["dry", "drops", "film"])
)
def test_round_trip_of_anything(wetness, humidity, title, sensor, mark, height, state):
    """Would catch numbers that lose digits, names that need quotes or escapes, weights that drift."""
    window = {"dry": {"state": "dry"}, "drops": {"state": "drops", "share": 0.1}, "film": {"state": "film", "film_um": height}}[
        state
    ]
    camera = {"mark": mark, "position_m": (0, height), "height_m": height, "aim_m": (16, 1), "sensor": sensor, "lens": "wide"}
    weather = {
        "name": title,
        "hours_per_year": height,
        "air_temperature_c": -height,
        "relative_humidity": humidity,
        "wetness": wetness,
        "ground_minus_air_k": 1e-300,
        "window": window,
    }
    core = {"columns": 160, "rows": 120, "pitch_um": 17, "netd_mk": height}
    site = python_site(title=title, sensors={sensor: core}, camera=[camera], weather=[weather])
    assert parse_site(site_to_toml(site)) == site


# ------------------------------------------------------------------------------------------------ files that are there


def test_the_worked_case_loads():
    """The published reference site: would catch a key that its numbers depend on and that is read otherwise."""
    site = load_site(WORKED_CASE)
    assert [camera.mark for camera in site.camera] == ["W", "L"] and site.seed == 7
    assert [lens.focal_length_mm for lens in site.lenses.values()] == [3.0, 6.0]
    assert site.rule[0].offset_m == 1.5 and site.rule[0].cameras == ("W", "L")
    fog = site.weather[1]
    assert fog.air_temperature_c == Quantity.normal(7.0, 2.0) and fog.visibility_m == Quantity.lognormal(70.0, 0.3)
    assert (fog.fog, fog.sky, fog.window.state, fog.window.share) == ("advection", "overcast", "drops", 0.05)
    cut = cut_segments(site.perimeter[0], site.site.segment_length_m)
    assert len(cut) == 12 and cut.middle_m.tolist() == [2.0 + 4.0 * i for i in range(12)]


def test_examples_are_the_same_in_the_package_and_beside_it():
    """Would catch an example mended in one place only."""
    beside = TESTS.parent / "configs"
    assert [path.name for path in EXAMPLES] == ["estuary-yard.toml", "gap-under-mast.toml", "one-camera.toml"]
    assert sorted(path.name for path in beside.glob("*.toml")) == [path.name for path in EXAMPLES]
    for path in EXAMPLES:
        assert (beside / path.name).read_bytes() == path.read_bytes()
        assert not path.is_symlink() and not (beside / path.name).is_symlink()


@pytest.mark.parametrize("path", EXAMPLES, ids=lambda path: path.stem)
def test_examples_begin_by_saying_what_they_show(path):
    lines = path.read_text(encoding="utf-8").splitlines()
    assert lines[0].startswith("# ") and lines[1].startswith("# What it shows: ")
    assert any("invented" in line for line in lines[:8])


def test_the_demo_is_what_it_says():
    site = load_site(EXAMPLES[0])
    assert math.fsum(weather.hours_per_year for weather in site.weather) == 4380 and len(site.weather) == 6
    length = sum(section_length_m(section) for section in site.perimeter)
    assert f"the perimeter, {length:.0f} m" in site.text
    assert {lens.focal_length_mm for lens in site.lenses.values()} == {3.0, 6.0}
    assert [section.barrier for section in site.perimeter] == ["none", "mesh", "mesh", "mesh"]


def test_tables_can_be_built_alone():
    """pydantic asks the same checks: would catch a table that takes what a file may not hold."""
    assert Sensor(columns=160, rows=120, pitch_um="0.017 mm", netd_mk=50).pitch_um == 17.0
    with pytest.raises(ValidationError, match="a height above 0 m and at most 60 m"):
        Camera(mark="C1", position_m=(0, 1), height_m=-4, sensor="core", lens="wide")
