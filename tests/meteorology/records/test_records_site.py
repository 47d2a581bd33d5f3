"""From a site file to records: where the file is looked for, what a site file keeps, and reports for anything that is typed."""

import tomllib
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from fencecast.errors import InputError, as_toml
from fencecast.meteorology.armed import armed_hours, place_of, sun_elevation_deg
from fencecast.meteorology.records.reading import read_site_records
from fencecast.site import Site, load_site, parse_site, site_to_toml
from meteorology.records.epwmaker import write_epw

TEXT = (Path(__file__).parents[2] / "config" / "hourly.toml").read_text(encoding="utf-8")
WITH_EPW = TEXT[: TEXT.index("[weather_file]")] + '[weather_file]\npath = "made.epw"\n\n' + TEXT[TEXT.index("[armed]") :]


def test_a_site_with_a_record_survives_being_written(tmp_path):
    site = parse_site(TEXT)
    assert site.weather == () and site.weather_file.file_kind == "csv"
    assert parse_site(site_to_toml(site)) == site
    assert parse_site(WITH_EPW).weather_file.file_kind == "epw"
    assert parse_site(WITH_EPW.replace("made.epw", "made.csv")).weather_file.file_kind == "tmy3"


def test_the_file_is_looked_for_beside_the_site_file(tmp_path, monkeypatch):
    folder = tmp_path / "sites"
    folder.mkdir()
    write_epw(folder / "made.epw")
    (folder / "yard.toml").write_text(WITH_EPW)
    monkeypatch.chdir(tmp_path)
    site = load_site("sites/yard.toml")
    records = read_site_records(site)
    assert len(records.time) == 8760
    # The site's own place, not the station's: the sun is looked up there.
    assert (records.latitude, records.longitude) == (54.0, 8.0)
    sun = sun_elevation_deg(records, place_of(site, records))
    armed = armed_hours(site, records, sun)
    assert 0 < armed.sum() < 4380 and np.all(sun[armed] < -3.0)
    bare = parse_site(WITH_EPW.replace("latitude = 54.0\n", "").replace("made.epw", str(folder / "made.epw")))
    assert read_site_records(bare).latitude == 50.0


def test_a_file_that_is_not_there_is_named_with_its_neighbours(tmp_path):
    write_epw(tmp_path / "made.epw")
    (tmp_path / "yard.toml").write_text(WITH_EPW.replace("made.epw", "mode.epw"))
    with pytest.raises(InputError) as caught:
        read_site_records(load_site(tmp_path / "yard.toml"))
    assert str(caught.value) == (
        f"{tmp_path / 'mode.epw'}: there is no such weather file (there is: made.epw); path in [weather_file] starts at the "
        "folder of the site file"
    )


RAIN = TEXT.replace("\n[armed]", 'rain = { column = "fell", unit = "mm" }\n\n[armed]')


@pytest.mark.parametrize("code", [0x01, 0xAD, 0x378, 0x18D09, 0xE0001])
def test_characters_that_cannot_be_printed_survive_being_written(code):
    """Catches: five hexadecimal digits after TOML's escape of four."""
    assert tomllib.loads(f"text = {as_toml(chr(code))}")["text"] == chr(code)


@pytest.mark.parametrize("zero", ["0", "0.0"])
def test_what_a_blank_gauge_means_survives_being_written(zero):
    site = parse_site(RAIN.replace('unit = "mm"', f'unit = "mm", empty = {zero}'))
    assert site.weather_file.columns["rain"] == {"column": "fell", "unit": "mm", "empty": 0.0}
    assert "empty" not in parse_site(RAIN).weather_file.columns["rain"] and parse_site(site_to_toml(site)) == site


@pytest.mark.parametrize(
    ("name", "empty", "words"),
    [
        ("rain", "1.0", "columns rain empty = 1.0 is not allowed: 0: blank fields are dry hours; leave it out where a blank is"),
        ("rain", "nan", "columns rain empty = nan is not allowed: 0: blank"),
        ("rain", "false", "columns rain empty = false is not allowed: 0: blank"),
        ("rain", '"0"', 'columns rain empty = "0" is not allowed: 0: blank'),
        ("visibility", "0.0", "columns visibility empty = 0.0 is not allowed: only rain, snow, precipitation have it: any other"),
    ],
)
def test_blank_means_nothing_else(name, empty, words):
    with pytest.raises(InputError) as caught:
        parse_site(RAIN.replace(f"\n{name} = {{", f"\n{name} = {{ empty = {empty},"))
    assert words in str(caught.value)


_junk = st.one_of(
    st.none(),
    st.booleans(),
    st.integers(),
    st.floats(),
    st.text(max_size=8),
    st.dates(),
    st.sampled_from(
        ["18:00-06:00", "24:00-00:00", "Europe/", "../UTC", "UTC", "", "mon-fri", "degC", "end", (), ((),), object()]
    ),
    st.lists(st.one_of(st.floats(), st.text(max_size=3), st.sampled_from(["18:00-06:00", "00:00-24:00"])), max_size=3),
    st.dictionaries(
        st.sampled_from(["column", "unit", "empty", "zone", "marks", "hour", "mon", "fri-mon", "wind", 3]),
        st.one_of(st.floats(), st.text(max_size=3), st.lists(st.text(max_size=3), max_size=2)),
        max_size=3,
    ),
)


def _places(node, path=()):
    for key, part in node.items():
        yield (*path, key)
        if isinstance(part, dict):
            yield from _places(part)


_TABLES = {name: tomllib.loads(TEXT)[name] for name in ("weather_file", "armed")}


@settings(max_examples=150, deadline=None)
@given(st.lists(st.tuples(st.sampled_from(list(_places(_TABLES))), _junk), min_size=1, max_size=3))
def test_anything_anywhere_is_accepted_or_reported(changes):
    """Would catch a crash: whatever stands at whatever key, the answer is a site or an InputError that can be printed."""
    keys = tomllib.loads(TEXT)
    for path, value in changes:
        node = keys
        try:
            for step in path[:-1]:
                node = node[step]
            node[path[-1]] = value
        except (KeyError, TypeError, IndexError):
            continue  # an earlier change took the place away
    try:
        site = Site(**keys)
        assert parse_site(site_to_toml(site)) == site
    except InputError as error:
        assert str(error).startswith("the site: ")
