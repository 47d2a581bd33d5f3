"""The site as an object: units, shapes, limits, equality, and round trips through the text of a site file."""

import hashlib
import pickle
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from pydantic import ValidationError
from small_sites import LEAST, least, python_site

import fencecast
from fencecast.errors import InputError, UnknownNameError, UsageError
from fencecast.site import Quantity, Site, as_site, load_site, parse_site, site_to_toml, without_cameras
from fencecast.site.geometry import section_length_m
from fencecast.site.schema import Camera, Sensor

TESTS = Path(__file__).parent.parent
# A study is no site: its own test is in tests/decide.
EXAMPLES = [p for p in sorted((Path(fencecast.__file__).parent / "examples").glob("*.toml")) if "study" not in p.name]
WORKED_CASE = TESTS / "data" / "worked-case" / "site.toml"

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
        (
            "[[weather]]",
            "[decision]\nencounter_correlation = 0.9\nconfirm = [8, 8]\nlooks_per_s = 25\nsize_gate = [10, 0]\n[[weather]]",
        ),
        ("relative_humidity = 0.75", "relative_humidity = 1"),
        ('name = "clear"', f'name = "{"x" * 60}"'),
        ('inside = "left"', 'inside = "left"\ngates = [{ name = "all", from_m = 0, to_m = 48 }]'),
    )
    assert site.decision.size_gate == (10.0, 0.0)
    assert site.decision.confirm == (8, 8) and site.perimeter[0].gates[0].to_m == 48.0


def test_triangles_are_shapes():
    """Would catch a fewest number of points that is off by one."""
    triangle = "[[0, 0], [9, 0], [9, 9]]"
    site = least(
        ("[sensors.core]", f'[[obstacle]]\nname = "hut"\nheight_m = 3\nfootprint_m = {triangle}\n[sensors.core]'),
        ("[[rule]]", '[[rule]]\nkind = "area"\npoints_m = [[0, 0], [9, 0], [9, 9], [0, 0]]\n[[rule]]'),
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


# ------------------------------------------------------------------------------------------------ a site from another


def test_replace_checks_and_makes_text_and_hash_anew(tmp_path):
    """Catches: a changed site with the old file's text, hash or no folder; a change that no check has seen."""
    (tmp_path / "site.toml").write_text(LEAST)
    site = load_site(tmp_path / "site.toml")
    lower = site.camera[0].model_copy(update={"height_m": 3.0})
    for made in (site.replace(camera=[lower]), site.model_copy(update={"camera": (lower,)})):
        assert made.camera[0].height_m == 3.0 and site.camera[0].height_m == 4.0
        assert parse_site(made.text) == made and made.sha256 == hashlib.sha256(made.text.encode()).hexdigest() != site.sha256
        assert made.folder == tmp_path
    assert site.model_copy() == site and site.model_copy().text == LEAST


def test_replace_reports_as_a_file_would():
    site = least()
    wrong = site.camera[0].model_copy(update={"height_m": -4.0})
    for change in (lambda: site.replace(camera=[wrong]), lambda: site.model_copy(update={"camera": [wrong]})):
        with pytest.raises(InputError, match='camera "C1" height_m = -4.0 is not allowed: a height above 0'):
            change()
    with pytest.raises(UnknownNameError, match='key "cameras" is not known: did you mean "camera"'):
        site.replace(cameras=[])
    with pytest.raises(InputError, match='camera "C1" lens = "wide"'):
        site.replace(lenses={"long": site.lenses["wide"]})


def test_what_stands_for_a_site(tmp_path):
    """Catches: an AttributeError where a path was typed."""
    (tmp_path / "site.toml").write_text(LEAST)
    site = least()
    assert as_site(site) is site and as_site(str(tmp_path / "site.toml")) == site == as_site(tmp_path / "site.toml")
    with pytest.raises(UsageError, match=r'dict is no site: give the path of a site file, such as fc.run\("yard.toml"\)'):
        as_site({})


def test_a_long_title_leaves_room_for_what_is_taken_away():
    """Catches: a title that is refused because a few words were added to it."""
    site = least(
        ('title = "Least"', f'title = "{"x" * 200}"'),
        ("[[rule]]", LEAST[LEAST.index("[[camera]]") : LEAST.index("[[rule]]")].replace("C1", "C2") + "[[rule]]"),
    )
    title = without_cameras(site, ["C2"]).title
    assert len(title) == 200 and title.endswith(" without C2")


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
        "front_window": window,
    }
    core = {"columns": 160, "rows": 120, "pitch_um": 17, "netd_mk": height}
    site = python_site(title=title, sensors={sensor: core}, camera=[camera], weather=[weather])
    assert parse_site(site_to_toml(site)) == site


def test_tables_can_be_built_alone():
    """pydantic asks the same checks: would catch a table that takes what a file may not hold."""
    assert Sensor(columns=160, rows=120, pitch_um="0.017 mm", netd_mk=50).pitch_um == 17.0
    with pytest.raises(ValidationError, match="a height above 0 m and at most 60 m"):
        Camera(mark="C1", position_m=(0, 1), height_m=-4, sensor="core", lens="wide")
