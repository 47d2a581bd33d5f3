"""EPW files: equal to pvlib's own reading where nothing is missing, and every habit of such files by name.

Codes and units: EnergyPlus, Auxiliary Programs, "EnergyPlus Weather File (EPW) Data Dictionary".
"""

from datetime import datetime, timedelta

import numpy as np
import pytest
from pvlib.iotools import read_epw

from fencecast.errors import InputError
from fencecast.meteorology.records.reading import read_records
from meteorology.records.epwmaker import FIRST_LINE, HEADER, write_epw
from meteorology.records.hourly_records import said


def hours_of(path, **keys):
    return read_records(write_epw(path / "made.epw", **keys), "epw")


# Field of the records, column of pvlib, factor.
SAME = [
    ("air_temperature_c", "temp_air", 1.0),
    ("relative_humidity", "relative_humidity", 0.01),
    ("wind_m_s", "wind_speed", 1.0),
    ("visibility_m", "visibility", 1000.0),
    ("cloud", "total_sky_cover", 0.1),
    ("pressure_hpa", "atmospheric_pressure", 0.01),
    ("ghi_w_m2", "ghi", 1.0),
    ("dni_w_m2", "dni", 1.0),
    ("dhi_w_m2", "dhi", 1.0),
    ("snow_depth_m", "snow_depth", 0.01),
    ("ceiling_m", "ceiling_height", 1.0),
    ("precipitation_mm_h", "liquid_precipitation_depth", 1.0),
]


def test_equal_to_the_librarys_own_reading(tmp_path):
    """Would catch a swapped column, a wrong factor, a shifted hour."""
    path = write_epw(tmp_path / "made.epw", changes={k: {"rain": 1.4} for k in range(100, 140)})
    records, (library, place) = read_records(path, "epw"), read_epw(path)
    for name, column, factor in SAME:
        np.testing.assert_allclose(records.values[name], factor * library[column].to_numpy(), rtol=1e-12, err_msg=name)
    assert np.array_equal(records.time, library.index.tz_localize(None).to_numpy().astype("datetime64[s]"))
    assert (records.latitude, records.longitude) == (place["latitude"], place["longitude"])
    assert (records.utc_offset_h, records.elevation_m) == (place["TZ"], place["altitude"])
    assert records.problems == ()
    assert records.source == "made.epw, 8,760 hours, 2001-01-01 to 2001-12-31"


def test_hours_1_to_24_end_at_their_number(tmp_path):
    records = hours_of(tmp_path)
    assert str(records.time[0]) == "2001-01-01T00:00:00" and str(records.time[23]) == "2001-01-01T23:00:00"
    assert str(records.time[-1]) == "2001-12-31T23:00:00"


MISSING = [
    ("visibility", 9999, "visibility", "visibility_m"),
    ("air", 99.9, "temp_air", "air_temperature_c"),
    ("pressure", 999999, "atmospheric_pressure", "pressure_hpa"),
    ("ghi", 9999, "ghi", "ghi_w_m2"),
    ("dni", 9999, "dni", "dni_w_m2"),
    ("dhi", 9999, "dhi", "dhi_w_m2"),
    ("wind", 999, "wind_speed", "wind_m_s"),
    ("snow_cm", 999, "snow_depth", "snow_depth_m"),
    ("rain", 999, "liquid_precipitation_depth", "precipitation_mm_h"),
    ("ceiling", 99999, "ceiling_height", "ceiling_m"),
]


def test_codes_for_missing_are_missing_not_numbers(tmp_path):
    """pvlib leaves all of them as numbers: 9999 km of visibility in a foggy night would be the clearest air of the year."""
    changes = {100 * n + k: {field: code, "observed": 9} for n, (field, code, *_) in enumerate(MISSING) for k in (3, 4, 70)}
    path = write_epw(tmp_path / "made.epw", changes=changes)
    records, (library, _) = read_records(path, "epw"), read_epw(path)
    for n, (_, code, column, name) in enumerate(MISSING):
        rows = [100 * n + k for k in (3, 4, 70)]
        assert library[column].iloc[rows].tolist() == [code] * 3, "the library marks it by now: look at its change log"
        assert np.flatnonzero(np.isnan(records.values[name])).tolist() == rows
        assert len(said(records, name)) == 1 and "stands for missing (3 rows)" in said(records, name)[0]


@pytest.mark.parametrize("code", [777.7, 7777])
def test_unlimited_visibility_is_the_farthest_that_the_file_tells(tmp_path, code):
    records = hours_of(tmp_path, changes={5: {"visibility": code}, 6: {"visibility": 48.3}})
    assert records.values["visibility_m"][5] == records.values["visibility_m"][6] == 48_300.0
    assert said(records, "visibility_m") == ["the file: visibility_m its code for unlimited: taken as 48,300 m (1 rows)"]


def test_missing_humidity_comes_from_the_dew_point(tmp_path):
    """WMO No. 8 (Magnus): 10 C with a dew point of 5 C is e(5)/e(10) = 8.72/12.28 hPa = 71 %."""
    records = hours_of(tmp_path, changes={5: {"humidity": 999, "air": 10.0, "dew": 5.0}, 6: {"humidity": 999, "dew": 99.9}})
    assert records.values["relative_humidity"][5] == pytest.approx(0.710, abs=0.002)
    assert np.isnan(records.values["relative_humidity"][6])


def test_opaque_cover_stands_for_a_missing_total_cover(tmp_path):
    records = hours_of(tmp_path, changes={5: {"cloud": 99, "opaque": 6}, 6: {"cloud": 99, "opaque": 99}})
    assert records.values["cloud"][5] == pytest.approx(0.6) and np.isnan(records.values["cloud"][6])


def test_ceiling_77777_is_no_ceiling_and_no_height(tmp_path):
    records = hours_of(
        tmp_path, changes={0: {"ceiling": 77777}, 1: {"ceiling": 88888}, 2: {"ceiling": 99999}, 3: {"ceiling": 60}}
    )
    ceiling = records.values["ceiling_m"]
    assert ceiling[0] == np.inf and ceiling[1] == np.inf and np.isnan(ceiling[2]) and ceiling[3] == 60.0


def test_present_weather_codes_get_their_lost_zeros_back(tmp_path):
    """A thunderstorm with light rain is 009999999; a spreadsheet writes 9999999, and every digit means another thing."""
    changes = {
        0: {"codes": "009999999"},
        1: {"codes": "9999999"},
        2: {"codes": "92999999"},  # 092999999: thunder, no rain, squalls: eight digits can only have lost one
        3: {"codes": "929999999"},
        4: {"codes": "929999999", "observed": 9},
        5: {"codes": "12"},
    }
    records = hours_of(tmp_path, changes=changes)
    codes = records.weather_codes.tolist()
    assert codes[:7] == ["009999999", "009999999", "092999999", "929999999", "", "", "999999999"]
    assert any(
        "2 rows, the first in line 10: zeros lost in front were put back" in text for text in said(records, "weather_code")
    )
    assert f"line {FIRST_LINE + 5}: weather_code 12: is no code of nine digits; taken as missing" in said(records, "weather_code")


def test_a_silent_gauge_is_missing_not_dry(tmp_path):
    """Typical years often carry zeros for a gauge that nobody read, while the codes tell of rain: then the codes count."""
    rain = {k: {"codes": "919999999"} for k in range(400, 420)}
    records = hours_of(tmp_path, changes={**rain, 500: {"observed": 9}})
    fell = records.values["precipitation_mm_h"]
    assert np.all(fell[400:420] == 4.0) and fell[399] == 0.0 and np.isnan(fell[500])
    first, second = said(records, "precipitation_mm_h")
    assert "weather codes tell of rain or snow in 20: the gauge is missing, not dry" in first
    assert "no gauge: rates from the weather codes (8,759 rows, 20 of them wet)" in second
    wet = hours_of(tmp_path, changes={**rain, 405: {"codes": "919999999", "rain": 0.6}})
    assert wet.values["precipitation_mm_h"][405] == 0.6 and wet.values["precipitation_mm_h"][400] == 0.0


def test_missing_precipitation_is_not_zero(tmp_path):
    records = hours_of(tmp_path, changes={5: {"rain": 999, "observed": 9}, 6: {"rain": "", "observed": 9}, 7: {"rain": 2.0}})
    rain = records.values["precipitation_mm_h"]
    assert np.isnan(rain[5]) and np.isnan(rain[6]) and rain[7] == 2.0 and rain[8] == 0.0


def test_a_depth_of_six_hours_is_spread_over_them(tmp_path):
    """Six millimetres gathered from 1:00 to 7:00, in an hour of which the gauge told 1 mm by itself: 5 mm over the other five."""
    changes = {k: {"rain": 999} for k in (1, 2, 4, 5)} | {3: {"rain": 1.0}, 6: {"rain": 6.0, "rain_hours": 6}}
    rain = hours_of(tmp_path, changes=changes).values["precipitation_mm_h"]
    np.testing.assert_allclose(rain[:8], [0.0, 1.0, 1.0, 1.0, 1.0, 1.0, 1.0, 0.0])


def test_a_depth_over_unknown_hours_is_dropped(tmp_path):
    records = hours_of(tmp_path, changes={6: {"rain": 6.0, "rain_hours": 99, "observed": 9}})
    assert np.isnan(records.values["precipitation_mm_h"][6])
    assert "gathered over are missing" in said(records, "precipitation_mm_h")[0]


def test_a_typical_year_of_many_years_is_one_year(tmp_path):
    years = [1988, 1996, 1990, 1980, 1986, 1989, 1981, 2001, 2003, 1980, 1994, 1980]
    plain = [datetime(2001, 1, 1) + timedelta(hours=k) for k in range(8760)]
    records = hours_of(tmp_path, starts=[each.replace(year=years[each.month - 1]) for each in plain])
    assert len(records.time) == 8760 and np.all(np.diff(records.time) == np.timedelta64(1, "h"))
    assert str(records.time[0]) == "2023-01-01T00:00:00" and str(records.time[-1]) == "2023-12-31T23:00:00"
    same = hours_of(tmp_path)
    for name, values in records.values.items():
        assert np.array_equal(values, same.values[name], equal_nan=True), name
    assert records.source.endswith("a typical year put together from 1980 to 2003") and records.problems == ()


def test_29_february_is_kept(tmp_path):
    starts = [datetime(2000, 1, 1) + timedelta(hours=k) for k in range(8784)]
    records = hours_of(tmp_path, starts=starts)
    assert len(records.time) == 8784 and str(records.time[59 * 24]) == "2000-02-29T00:00:00"
    assert records.problems == ()


def test_a_missing_hour_is_a_row_of_gaps_and_a_doubled_one_counts_once(tmp_path):
    records = hours_of(tmp_path, left_out=(10, 11))
    assert len(records.time) == 8760 and np.all(np.isnan(records.values["air_temperature_c"][[10, 11]]))
    assert np.all(np.isfinite(records.values["air_temperature_c"][[9, 12]]))
    assert said(records, "time") == ["the file: time 2 of 8,760 hours: the file has no row for them; they are unknown"]
    twice = hours_of(tmp_path, changes={11: {"hour": 11, "wind": 4.4}, 10: {"wind": 999}})
    assert twice.values["wind_m_s"][10] == 4.4, "the first row counts, and what it lacks comes from the second"
    assert np.isnan(twice.values["wind_m_s"][11])
    assert any(text.startswith("line 20: time 2001-01-01T10:00:00 stands in line 19 already") for text in said(twice, "time"))


def test_what_is_no_epw_file_is_one_report(tmp_path):
    path = tmp_path / "made.epw"
    for text in ("", "time,temp\n2001-01-01 00:00,4\n", "LOCATION,a,b,c,d,e,1,2,3,4\n" * 9):
        path.write_text(text)
        with pytest.raises(InputError) as caught:
            read_records(path, "epw")
        assert str(caught.value).startswith(f"{path}: this cannot be read as an EPW file (a header of eight lines")
        assert 'say so with kind = "epw", "tmy3" or "csv" in [weather_file]' in str(caught.value)
    with pytest.raises(InputError, match=r"there is no such weather file \(there is: made.epw\)"):
        read_records(tmp_path / "mad.epw", "epw")
    path.write_bytes(b"PK\x03\x04\0\0")
    with pytest.raises(InputError, match="this is no text file"):
        read_records(path, "epw")
    # Zeros here and there are no UTF-16.
    for content in (b"abc\0\0\0defgh\0\0" * 30, b"\0" * 2000):
        path.write_bytes(content)
        with pytest.raises(InputError, match="this is no text file"):
            read_records(path, "epw")


@pytest.mark.parametrize("code", ["utf-16", "utf-16-le", "utf-16-be"])
def test_utf_16_is_named_with_how_to_save_it(tmp_path, code):
    """A spreadsheet's "Unicode text", with and without a byte order mark. Catches: "unpack it first"."""
    path = tmp_path / "my station.csv"
    path.write_text("time,temp,rh,wind,vis,rain\n2013-06-01 00:00,1,80,2,9000,0\n", encoding=code)
    with pytest.raises(InputError) as caught:
        read_records(path, "epw")
    assert "this is text in UTF-16, two bytes a character" in str(caught.value) and 'save it as "CSV UTF-8"' in str(caught.value)
    assert "iconv -f UTF-16 -t UTF-8 'my station.csv' > 'utf8-my station.csv'" in str(caught.value)


def of_lines(tmp_path, change):
    """A file of the plain year whose list of lines was changed, as records or as what is said of it."""
    path = write_epw(tmp_path / "made.epw")
    lines = path.read_text(encoding="utf-8").split("\n")
    change(lines)
    path.write_text("\n".join(lines), encoding="utf-8")
    try:
        return read_records(path, "epw")
    except InputError as error:
        return str(error).removeprefix(f"{path}: ")


def test_a_first_line_that_is_no_location_is_refused(tmp_path):
    """Catches: LOCATIN taken for LOCATION."""
    said_of = of_lines(tmp_path, lambda lines: lines.__setitem__(0, lines[0].replace("LOCATION", "LOCATIN")))
    assert 'line 1 begins with "LOCATIN", where the word LOCATION should stand' in said_of


@pytest.mark.parametrize("gone", range(1, 8))
def test_a_header_line_short_is_refused_not_an_hour_lost(tmp_path, gone):
    """Catches: the first hour skipped as a line of the header."""
    said_of = of_lines(tmp_path, lambda lines: lines.pop(gone))
    assert said_of.startswith("the first hour is in line 8, after 7 lines of header, and an EPW file has 8")
    assert f'; missing: "{HEADER.splitlines()[gone].split(",")[0]}"; the lines' in said_of


def test_a_header_line_too_many_is_refused(tmp_path):
    said_of = of_lines(tmp_path, lambda lines: lines.insert(6, "and this comment goes on"))
    assert said_of.startswith("the first hour is in line 10, after 9 lines of header")
    assert "; no line of an EPW header: line 7; the lines" in said_of and "missing" not in said_of


def test_blank_lines_and_other_line_ends_change_nothing(tmp_path):
    """Catches: a blank line counted as one of eight; a row told with a line that is not its own."""
    plain = of_lines(tmp_path, lambda lines: None)
    blank = of_lines(tmp_path, lambda lines: lines.insert(2, "  "))
    for name, values in plain.values.items():
        assert np.array_equal(values, blank.values[name], equal_nan=True), name
    path = write_epw(tmp_path / "made.epw", changes={5: {"wind": 99.0}})
    path.write_bytes(path.read_bytes().replace(b"\n", b"\r\n"))
    assert said(read_records(path, "epw"), "wind_m_s")[0].startswith(f"line {FIRST_LINE + 5}: ")


@pytest.mark.parametrize(
    ("place", "words"),
    [
        (
            "LOCATION,Nowhere,-",
            "line 1: LOCATION is followed by 2 fields, and needs 9: city, state, country, source, station number",
        ),
        ("LOCATION", "line 1: LOCATION is followed by 0 fields"),
        ("LOCATION,a,-,b,c,1,north,8,1,2", 'line 1: LOCATION latitude = "north" is not allowed: a number from -90 to 90'),
        ("LOCATION,a,-,b,c,1,50,8,1,", 'line 1: LOCATION elevation = "" is not allowed: a number from -1000 to 9999.9 (metres)'),
        ("LOCATION,a,-,b,c,1,50,8,nan,2", 'line 1: LOCATION time zone = "nan" is not allowed: a number from -12 to 14'),
    ],
)
def test_a_place_that_cannot_be_read_is_one_report(tmp_path, place, words):
    """Catches: the text of a KeyError instead of what is missing."""
    assert of_lines(tmp_path, lambda lines: lines.__setitem__(0, place)).startswith(words)


def test_two_mistakes_of_a_place_are_told_together(tmp_path):
    said_of = of_lines(tmp_path, lambda lines: lines.__setitem__(0, "LOCATION,a,-,b,c,1,95,190,1,2"))
    assert said_of.startswith("2 problems") and "latitude" in said_of and "longitude" in said_of


def test_columns_too_many_are_refused(tmp_path):
    """A comma at the end of every row would move all columns by one. Catches: wind read as direction."""
    said_of = of_lines(tmp_path, lambda lines: lines.__setitem__(slice(8, None), [f"{each}," for each in lines[8:] if each]))
    assert said_of == "line 9: it has 36 columns, and an hour of an EPW file has 35; take out the rest"


def test_names_in_latin_letters_of_an_old_file_are_read(tmp_path):
    path = write_epw(tmp_path / "made.epw")
    path.write_bytes(path.read_bytes().replace(b"Nowhere", b"Nirgends\xf6"))
    assert read_records(path, "epw").latitude == 50.0
