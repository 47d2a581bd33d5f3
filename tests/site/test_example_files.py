"""The worked case and the examples that the package ships."""

import importlib.util
import math
from pathlib import Path

import pytest

import fencecast
from fencecast.site import Quantity, load_site
from fencecast.site.geometry import cut_segments, section_length_m

TESTS = Path(__file__).parent.parent
EXAMPLES = sorted((Path(fencecast.__file__).parent / "examples").glob("*.toml"))
YEARS = sorted((Path(fencecast.__file__).parent / "examples").glob("*.csv"))
WORKED_CASE = TESTS / "data" / "worked-case" / "site.toml"


def test_the_worked_case_loads():
    """The published reference site: would catch a key that its numbers depend on and that is read otherwise."""
    site = load_site(WORKED_CASE)
    assert [camera.mark for camera in site.camera] == ["W", "L"] and site.seed == 7
    assert [lens.focal_length_mm for lens in site.lenses.values()] == [3.0, 6.0]
    assert site.rule[0].offset_m == 1.5 and site.rule[0].cameras == ("W", "L")
    fog = site.weather[1]
    assert fog.air_temperature_c == Quantity.normal(7.0, 2.0) and fog.visibility_m == Quantity.lognormal(70.0, 0.3)
    assert (fog.fog, fog.sky, fog.front_window.state, fog.front_window.share) == ("advection", "overcast", "drops", 0.05)
    cut = cut_segments(site.perimeter[0], site.site.segment_length_m)
    assert len(cut) == 12 and cut.middle_m.tolist() == [2.0 + 4.0 * i for i in range(12)]


def test_examples_are_the_same_in_the_package_and_beside_it():
    """Would catch an example mended in one place only."""
    beside = TESTS.parent / "configs"
    names = [
        "estuary-yard.toml",
        "gap-under-mast.toml",
        "marsh-depot.toml",
        "one-camera.toml",
        "orchard-yard.toml",
        "priced-yard.toml",
        "rope-yard.toml",
        "yard-study.toml",
    ]
    assert [path.name for path in EXAMPLES] == names
    assert sorted(path.name for path in beside.glob("*.toml")) == names
    assert [path.name for path in YEARS] == [path.name for path in sorted(beside.glob("*.csv"))] == ["marsh-depot-weather.csv"]
    for path in (*EXAMPLES, *YEARS):
        assert (beside / path.name).read_bytes() == path.read_bytes()
        assert not path.is_symlink() and not (beside / path.name).is_symlink()


@pytest.mark.parametrize("path", EXAMPLES, ids=lambda path: path.stem)
def test_examples_begin_by_saying_what_they_show(path):
    lines = path.read_text(encoding="utf-8").splitlines()
    assert lines[0].startswith("# ") and lines[1].startswith("# What it shows: ")
    assert any("invented" in line for line in lines[:8])


def test_the_invented_year_is_the_one_that_its_script_makes():
    """Would catch a year that was mended by hand, so that nobody can say any more how it was made.

    Another C library's exponential may differ in its last bit, and turn a rounded digit: one cell in a thousand may differ.
    """
    path = TESTS.parent / "configs" / "make_year.py"
    spec = importlib.util.spec_from_file_location("make_year", path)
    maker = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(maker)
    made, kept = (text.splitlines() for text in (maker.text(), YEARS[0].read_text(encoding="utf-8")))
    assert len(made) == len(kept) == 8760 - 72 + 1 and made[0] == kept[0]
    cells = [a == b for line, other in zip(made, kept) for a, b in zip(line.split(","), other.split(","), strict=True)]
    assert cells.count(False) <= len(cells) / 1000


def test_the_weather_example_names_its_year_and_lies_in_the_sea():
    site = load_site(EXAMPLES[2])
    assert site.weather == () and (EXAMPLES[2].parent / site.weather_file.path) == YEARS[0]
    assert (site.site.latitude, site.site.longitude) == (54.0, 4.0)
    assert YEARS[0].stat().st_size < 450_000


def test_the_demo_is_what_it_says():
    site = load_site(EXAMPLES[0])
    assert math.fsum(weather.hours_per_year for weather in site.weather) == 4380 and len(site.weather) == 6
    length = sum(section_length_m(section) for section in site.perimeter)
    assert f"the perimeter, {length:.0f} m" in site.text
    assert {lens.focal_length_mm for lens in site.lenses.values()} == {3.0, 6.0}
    assert [section.barrier for section in site.perimeter] == ["none", "mesh", "mesh", "mesh"]
